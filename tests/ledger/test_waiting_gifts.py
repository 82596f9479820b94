"""Gifts that wait: of a closed period, or unreadable; recorded by name, left out with a reason, never moved alone."""

import uuid

import pytest
from django.urls import reverse

from clinic.models import House, User
from clinic.queries.month_end import month_end
from clinic.queries.needs_of_gifts import need_of_waiting_gifts
from config.roles import Role
from ledger.actions import carrying
from ledger.actions import waiting_gifts as actions
from ledger.audit import audit
from ledger.models import Entry, Gift, Inflow, WaitingGift
from ledger.queries import gifts
from ledger.queries import waiting_gifts as queries
from ledger.queries.month_end import open_items
from tests.ledger import gift_lists, make
from tests.ledger.gift_lists import brought, record, seen, written
from tests.ledger.make import oct

pytestmark = pytest.mark.django_db

HEADS = ["Date", "Donor", "Amount", "Fee", "Reference", "Comment"]
CLOSED = ["2026-10-02", "Magda Illesz", "15.00", "0.74", "G-2", "for the wound fund"]
OPEN = ["2026-10-20", "Orsolya Penhallow", "40.00", "1.46", "G-1", ""]
WRONG = ["someday", "Nobody", "4.00", "", "G-3", ""]
SAID = {"by": 1, "today": oct(31), "at": make.at(oct(31))}


@pytest.fixture
def file(settings, tmp_path):
    fund = gift_lists.books(settings, tmp_path)
    make.gift(make.general(), 1_00, oct(3))
    make.closed(oct(10), today=oct(31))
    file = brought(fund, written(HEADS, [CLOSED, OPEN, WRONG]))
    actions.keep(file=file, wrong=seen(file).wrong, by=1, on=oct(31))
    record(file)
    return file


def waiting() -> list[tuple[int, str, bool]]:
    lines = queries.waiting_gifts(today=oct(31))
    return [(line.line, line.sentence or "stands", line.is_closed) for line in lines]


def test_what_cannot_be_recorded_waits_with_its_reason_and_is_kept_once(file):
    actions.keep(file=file, wrong=seen(file).wrong, by=1, on=oct(31))

    assert waiting() == [
        (2, "Its day lies in a period that is closed through October 10, 2026.", True),
        (4, '"someday" is no date such as 2026-10-14.', False),
    ]
    assert (queries.count(), seen(file).waiting, seen(file).unkept) == (2, 2, 0)
    assert Gift.objects.count() == 2  # the one from before the closing, and the one that stands


def test_mended_in_a_new_file_it_no_longer_waits(file):
    mended = brought(None, written(HEADS, [["2026-10-21", *WRONG[1:]]]))
    record(mended)

    assert [line for line, *_ in waiting()] == [2]
    assert seen(mended).new == ()


def test_recorded_today_it_keeps_the_day_on_which_it_was_received(file):
    row = WaitingGift.objects.get(line=2)
    actions.record(waiting_id=row.pk, late=True, **SAID)
    gift = Gift.objects.get(entry__key=row.key)
    inflow = Inflow.objects.get(gift=gift)

    assert (gift.received_on, inflow.received_on, gift.entry.on, gift.entry.by) == (oct(2), oct(2), oct(31), 1)
    assert [line for line, *_ in waiting()] == [4]
    story = gifts.of_donor(donor_id=gift.donor_id, from_on=oct(1), to_on=oct(5))  # its receipt is for its own days
    assert [one.amount_minor for one in story] == [15_00]
    assert seen(file).new == ()
    assert audit().findings == ()


def test_reopened_it_is_recorded_on_its_own_day(file):
    make.reopened(today=oct(31))
    row = WaitingGift.objects.get(line=2)

    assert waiting()[0] == (2, "stands", False)
    actions.record(waiting_id=row.pk, late=False, **SAID)
    assert Entry.objects.get(key=row.key).on == oct(2)
    assert audit().findings == ()


def test_it_never_moves_to_another_day_by_itself(file):
    row = WaitingGift.objects.get(line=2)

    with pytest.raises(actions.StillCannotStand, match="goes on waiting. Its day lies in a period"):
        actions.record(waiting_id=row.pk, late=False, **SAID)
    with pytest.raises(actions.StillCannotStand, match="is no date"):
        actions.record(waiting_id=WaitingGift.objects.get(line=4).pk, late=True, **SAID)
    assert not Entry.objects.filter(key=row.key).exists()


def test_left_out_by_name_and_with_a_reason(file):
    row = WaitingGift.objects.get(line=4)
    with pytest.raises(actions.ReasonMissing):
        actions.leave_out(waiting_id=row.pk, why=" ", by=1, today=oct(31))
    actions.leave_out(waiting_id=row.pk, why="A test of the site.", by=1, today=oct(31))

    assert [line for line, *_ in waiting()] == [2]
    assert [(one.line, one.why) for one in queries.left_out()] == [(4, "A test of the site.")]
    assert [one.line for one in seen(file).wrong] == [2]  # the file does not ask for it again
    actions.keep(file=file, wrong=seen(file).wrong, by=1, on=oct(31))
    assert queries.count() == 1


def test_a_return_waits_for_its_gift(file):
    back = ["2026-10-22", "Magda Illesz", "-15.00", "", "G-2", ""]
    later = brought(None, written(HEADS, [back]))
    actions.keep(file=later, wrong=seen(later).wrong, by=1, on=oct(31))
    returned = WaitingGift.objects.get(file=later)

    with pytest.raises(actions.StillCannotStand, match="no gift from here has this reference"):
        actions.record(waiting_id=returned.pk, late=False, **SAID)
    actions.record(waiting_id=WaitingGift.objects.get(file=file, line=2).pk, late=True, **SAID)
    actions.record(waiting_id=returned.pk, late=False, **SAID)

    assert [line for line, *_ in waiting()] == [4]
    assert make.by_name()["Wound fund"] == 0
    assert audit().findings == ()


def test_carried_by_name_at_a_months_end_until_another_one_waits(file):
    """H3: a month closes with what is open named and carried."""
    carrying.carry(key=make.key("c"), things=["waiting"], through_on=oct(30), why="The site was asked.", **SAID)

    found = open_items(from_on=oct(11), through_on=oct(30))
    assert found.carried_as("waiting").told == "gifts that wait: 2"
    later = brought(None, written(HEADS, [["2026-10-03", "Magda Illesz", "9.00", "", "G-9", ""]]))
    actions.keep(file=later, wrong=seen(later).wrong, by=1, on=oct(31))
    assert open_items(from_on=oct(11), through_on=oct(30)).carried_as("waiting") is None
    for row in WaitingGift.objects.all():
        actions.leave_out(waiting_id=row.pk, why="Not ours.", by=1, today=oct(31))
    with pytest.raises(carrying.NothingToCarry):
        carrying.carry(key=make.key("d"), things=["waiting"], through_on=oct(30), **SAID)


class TestPages:
    @pytest.fixture
    def bookkeeper(self, client, file):
        House.objects.create(pk=1, name="Larkweir Veterinary Practice", opening_on=oct(1), time_zone="UTC")
        user = User.objects.create(sign_in="greta", name="Greta", initials="GL")
        user.roles_held.create(role=Role.BOOKKEEPER.value)
        client.force_login(user, "django.contrib.auth.backends.ModelBackend")
        return client

    def test_each_is_one_step_from_its_mend(self, bookkeeper, file):
        late, wrong = (WaitingGift.objects.get(line=line).pk for line in (2, 4))
        month = month_end(today=oct(31), house=House.objects.get())
        need = need_of_waiting_gifts()
        shown = bookkeeper.get(reverse("ledger:waiting_gifts")).content.decode()
        asked = bookkeeper.get(reverse("ledger:waiting_gift_record", args=[late])).content.decode()
        refused = bookkeeper.post(reverse("ledger:waiting_gift_record", args=[wrong]), {"sure": "yes", "late": "on"})
        bookkeeper.post(reverse("ledger:waiting_gift_record", args=[late]), {"sure": "yes", "late": "on"})
        unsaid = bookkeeper.post(reverse("ledger:waiting_gift_leave_out", args=[wrong]), {"why": ""})
        bookkeeper.post(reverse("ledger:waiting_gift_leave_out", args=[wrong]), {"why": "Not ours."})

        assert [item.count for item in month.items if item.words == "gifts that wait"] == [2]
        assert (need.count, need.words, need.address) == (2, "gifts that wait", reverse("ledger:waiting_gifts"))
        assert need_of_waiting_gifts() is None  # one is recorded, the other left out
        assert "2 rows of a gift file" not in shown and "2 rows of gift files are in no fund yet" in shown
        assert "Record, dated today" in shown and "Reopen the period" in shown and shown.count("/leave-out/") == 2
        assert "keeps October 2, 2026 as the day" in asked
        assert refused.status_code == 422 and "goes on waiting" in refused.content.decode()
        assert (unsaid.status_code, queries.count()) == (422, 0)
        assert "No gift waits." in bookkeeper.get(reverse("ledger:waiting_gifts")).content.decode()
        assert bookkeeper.get(reverse("ledger:waiting_gift_record", args=[late])).status_code == 404

    def test_a_file_lets_its_rows_wait_where_somebody_says_so(self, bookkeeper):
        other = brought(None, written(HEADS, [[*CLOSED[:4], "G-8", ""], [*OPEN[:4], "G-9", ""]]))
        bookkeeper.post(reverse("ledger:gift_file_record", args=[other.pk]))
        before = queries.count()
        bookkeeper.post(reverse("ledger:gift_file_record", args=[other.pk]), {"keep-good": "yes"})
        shown = bookkeeper.get(reverse("ledger:gift_file", args=[other.pk])).content.decode()

        assert (before, queries.count()) == (2, 3)
        assert "1 of them is among the" in shown and "Record the" not in shown
        assert str(uuid.uuid5(other.source.key, "reference G-9")) in map(
            str, Entry.objects.values_list("key", flat=True)
        )
