"""Several people post at once: one lock, no gap, no lost gift, every key once."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import close_old_connections, connection, transaction

from ledger.actions import charges
from ledger.audit import audit
from ledger.models import Entry
from tests.ledger import make
from tests.ledger.make import oct

WRITERS, EACH = 4, 6


def write(writer: int) -> list:
    """Post gifts and care in turn, each in a transaction of its own; return the keys that were acknowledged."""
    kept = []
    try:
        for number in range(EACH):
            with transaction.atomic(durable=True):
                gift = make.gift(make.general(), 10_00 + writer, oct(2), f"gift {writer} {number}")
            kept.append(gift.entry.key)
            with transaction.atomic(durable=True):
                slips = [make.slip(f"{writer} {number} {line}", asked_minor=4_00) for line in range(2)]
                charges.post_day(slips=slips, by=writer, today=oct(14), at=make.at(oct(14)))
            kept += [slip.key for slip in slips]
    finally:
        connection.close()
    return kept


@pytest.mark.django_db(transaction=True)
def test_several_writers_leave_whole_books():
    make.books()
    close_old_connections()

    with ThreadPoolExecutor(WRITERS) as pool:
        kept = [key for keys in pool.map(write, range(WRITERS)) for key in keys]

    assert len(kept) == len(set(kept)) == WRITERS * EACH * 3
    assert sorted(Entry.objects.values_list("key", flat=True)) == sorted(kept)
    assert list(Entry.objects.order_by("id").values_list("id", flat=True)) == list(range(1, len(kept) + 1))
    assert audit().findings == ()


@pytest.mark.django_db(transaction=True)
def test_a_form_sent_by_two_hands_at_once_is_one_entry():
    make.books()

    def send(_):
        try:
            with transaction.atomic(durable=True):
                return make.gift(make.general(), 10_00, oct(2), "the same").entry_id
        finally:
            connection.close()

    with ThreadPoolExecutor(WRITERS) as pool:
        numbers = list(pool.map(send, range(WRITERS)))

    assert numbers == [1] * WRITERS
    assert Entry.objects.count() == 1
