"""Two people at the same moment: a signature and a tick never cross, and one form sent twice at once is one."""

import threading
import time
import uuid
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest
from django import forms
from django.db import connection, transaction

from clinic import audit
from clinic.actions import animals, care, groups, prices, services, sign_off, stays
from clinic.models import Animal, CareItem, GroupFact, WardSheet
from config.acting import act
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def clinic():
    clinic = make.open_clinic()
    clinic.admit("Bracken")
    return clinic


class Meanwhile(threading.Thread):
    """Does one thing in a transaction of its own, and keeps what came of it."""

    def __init__(self, work: Callable[[], object]) -> None:
        super().__init__()
        self.work, self.came = work, None
        self.start()

    def run(self) -> None:
        try:
            with transaction.atomic(durable=True):
                self.came = self.work()
        except Exception as refused:
            self.came = refused
        finally:
            connection.close()


def while_signing(clinic, work: Callable[[], object]) -> object:
    """Begin `work` while the signature of a day is not committed yet; return what came of it."""
    with transaction.atomic(durable=True):
        sign_off.sign_unread(key=uuid.uuid4(), on=DAY, by=clinic.manager, today=TODAY, at=AT)
        other = Meanwhile(work)
        time.sleep(0.4)
        assert other.is_alive(), "it did not wait for the signature"
    other.join(30)
    return other.came


def test_a_tick_waits_for_a_signature_and_is_told(clinic):
    bracken = Animal.objects.get()
    clinic.give(bracken, clinic.dressing)

    came = while_signing(clinic, lambda: clinic.give(bracken, clinic.tablets))

    assert isinstance(came, care.RowSigned)
    assert audit.audit().findings == ()


def test_taking_back_waits_for_a_signature_and_is_told(clinic):
    item = clinic.give(Animal.objects.get(), clinic.dressing)

    came = while_signing(clinic, lambda: care.undo(item=item, by=clinic.nurse, at=AT))

    assert isinstance(came, care.RowSigned)
    assert audit.audit().findings == ()


def test_a_discharge_waits_for_a_signature_and_is_told(clinic):
    stay = Animal.objects.get().stays.get()

    came = while_signing(
        clinic,
        lambda: stays.discharge(
            stay=stay, discharged_on=DAY, left_to="foster", why="", by=clinic.vet, today=TODAY, at=AT
        ),
    )

    assert isinstance(came, stays.DaySignedSince)
    assert audit.audit().findings == ()


def test_a_price_waits_for_a_signature_and_is_told(clinic):
    came = while_signing(
        clinic,
        lambda: prices.set_price(
            service=clinic.standard.service, starts_on=DAY, cost=1, usual_fee=2, asked=1, by=clinic.manager, at=AT
        ),
    )

    assert isinstance(came, prices.DaySignedAlready)


@pytest.mark.parametrize("round_", range(3))
def test_one_form_sent_twice_at_once_is_one(clinic, round_):
    """Each of four forms is sent by four hands at the same moment, on a day that has no sheet yet."""
    bracken = Animal.objects.get()
    key, on = uuid.uuid4(), TODAY - timedelta(days=round_)
    said = {
        "tick": lambda: clinic.give(bracken, clinic.dressing, key=key, on=on),
        "note": lambda: care.observe(
            key=key, animal=bracken, on=on, kind="note", words="Ate.", by=clinic.nurse, today=TODAY, at=AT
        ),
        "another animal": lambda: animals.admit(
            key=key, name="Ballast", species="dog", sex="male", admitted_on=on, level=clinic.standard, partner=None,
            by=clinic.nurse, today=TODAY, at=AT,
        ),
    }  # fmt: skip
    came: list[object] = []
    ready = threading.Barrier(4 * len(said))

    def send(work: Callable[[], object]) -> None:
        ready.wait(20)
        form = forms.Form({})
        try:
            came.append(act(form, work) or form.errors)
        except Exception as wrong:
            came.append(wrong)
        finally:
            connection.close()

    hands = [threading.Thread(target=send, args=(work,)) for work in said.values() for _ in range(4)]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join(60)

    assert sorted({type(one).__name__ for one in came}) == ["CareItem", "Observation", "Stay"], came
    assert (CareItem.objects.count(), bracken.observations.count(), Animal.objects.count()) == (1, 1, 2)
    assert WardSheet.objects.filter(on=on).count() == 1
    assert audit.audit().findings == ()


def test_a_count_waits_for_a_signature_and_expects_what_it_left(clinic):
    """Ten pads, one of them in the dressing that is being signed: a count of nine is as expected."""
    kit = services.fill_kit(service=clinic.dressing, supplies=[("pad", "Pad", "pad", Decimal(1))])
    pad = kit.lines.get().supply
    make.shelf(clinic, pad, "10")
    clinic.give(Animal.objects.get(), clinic.dressing)

    counted = while_signing(clinic, lambda: make.count(clinic, pad, "9"))

    assert counted.expected_millionths == 9_000_000
    assert audit.audit().findings == ()


def test_one_tap_for_all_of_a_group_sent_by_four_hands_at_once_is_one(clinic):
    bracken, key = Animal.objects.get(), uuid.uuid4()
    by = {"by": clinic.nurse, "today": DAY, "at": AT}
    members = [bracken, clinic.admit("Tansy").animal]
    group = groups.form(key=uuid.uuid4(), name="Pair", members=members, **by)
    came: list[object] = []
    ready = threading.Barrier(4)

    def send() -> None:
        ready.wait(20)
        form = forms.Form({})
        try:
            given = act(form, lambda: groups.give(key=key, group=group, on=DAY, service=clinic.dressing, **by))
            came.append(len(given) if given else form.errors)
        except Exception as wrong:
            came.append(wrong)
        finally:
            connection.close()

    hands = [threading.Thread(target=send) for _ in range(4)]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join(60)

    assert (came, CareItem.objects.count(), GroupFact.objects.count()) == ([2, 2, 2, 2], 2, 1)
    assert audit.audit().findings == ()
