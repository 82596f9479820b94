"""Work through a long list that stays in memory until its end."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def kept_alive() -> Iterator[None]:
    """Spare the collector of cycles what is alive now: looking it through again and again took a sixth of an import.

    What is made meanwhile is collected as ever, and afterwards everything is.
    """
    gc.freeze()
    try:
        yield
    finally:
        gc.unfreeze()
