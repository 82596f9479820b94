"""The six roles: what a person may do. One person may hold several."""

from enum import StrEnum


class Role(StrEnum):
    WARD = "ward"
    VET = "vet"
    BOOKKEEPER = "bookkeeper"
    MANAGER = "manager"
    PARTNER = "partner"
    READER = "reader"

    @property
    def words(self) -> str:
        return WORDS[self]


WORDS = {
    Role.WARD: "ward",
    Role.VET: "vet",
    Role.BOOKKEEPER: "bookkeeper",
    Role.MANAGER: "manager",
    Role.PARTNER: "partner contact",
    Role.READER: "reader",
}
CHOICES = [(role.value, words) for role, words in WORDS.items()]

STAFF = frozenset(Role) - {Role.PARTNER}
CARE = frozenset({Role.WARD, Role.VET, Role.MANAGER})
# Who may see an amount: everybody of the house but the ward, whose pages never show one.
MONEY = frozenset({Role.VET, Role.BOOKKEEPER, Role.MANAGER, Role.READER})
