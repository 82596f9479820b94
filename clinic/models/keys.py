"""Opaque keys under which the ledger knows the clinic's animals, partners and paths."""

import uuid


def new_key() -> str:
    return uuid.uuid4().hex
