"""The gate on every address: who may read it and who may change something there."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, TypeVar

from config.roles import Role

View = TypeVar("View", bound=Callable[..., Any])
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


@dataclass(frozen=True)
class Gate:
    read: frozenset[Role]
    write: frozenset[Role]
    on_tablet: bool = False  # also where people change by initials and a short code

    def opens(self, method: str, roles: frozenset[Role]) -> bool:
        """Say whether somebody with `roles` may send `method` here.

        >>> gate = Gate(read=frozenset({Role.READER}), write=frozenset({Role.VET}))
        >>> gate.opens("GET", frozenset({Role.READER})), gate.opens("POST", frozenset({Role.READER}))
        (True, False)
        >>> gate.opens("POST", frozenset({Role.VET, Role.WARD})), gate.opens("GET", frozenset({Role.WARD}))
        (True, False)
        """
        allowed = self.read | self.write if method in SAFE else self.write
        return bool(allowed & roles)


def gate(*, read: Iterable[Role] = (), write: Iterable[Role] = (), on_tablet: bool = False) -> Callable[[View], View]:
    """Mark a view with who may read it (GET) and who may also write (every other method)."""

    def mark(view: View) -> View:
        view.gate = Gate(frozenset(read), frozenset(write), on_tablet)  # type: ignore[attr-defined]
        return view

    return mark
