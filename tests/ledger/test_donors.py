"""Donors: what they wish, where they were reached before, who may be one person, and two who are one until undone."""

import pytest
from django.db import IntegrityError, connection, transaction
from django.urls import reverse

from ledger.actions import donor_merges, donors
from ledger.audit import audit
from ledger.formulas.gift_files import GiftRow
from ledger.models import Donor, DonorMerge, DonorNumber, GiftSource
from ledger.queries import (
    donor_choices,
    donor_contacts,
    donor_page,
    donor_trace,
    donor_twins,
    donors_apart,
    gifts,
    one_donor,
)
from ledger.queries import donors as queries
from ledger.queries.file_donors import FileDonors
from tests.ledger import make
from tests.ledger.make import oct

pytestmark = pytest.mark.django_db


def donor(name: str, **facts) -> Donor:
    return donors.add(key=make.key(f"donor {name} {facts}"), name=name, on=oct(1), by=2, **facts)


def merged(one: Donor, into: Donor, name: str = "merge") -> DonorMerge:
    said = {"why": "She said so on the phone.", "by": 2, "on": oct(9), "at": make.at(oct(9))}
    return donor_merges.merge(key=make.key(name), donor_id=one.id, into_id=into.id, **said)


def undone(merge: DonorMerge) -> DonorMerge:
    return donor_merges.undo(merge_id=merge.id, why="Mother and daughter.", by=2, on=oct(12))


def as_it_is(row: Donor, **other) -> dict:
    kept = ("kind", "name", "address", "email", "note", "wants", "is_unnamed", "language")
    return {name: getattr(row, name) for name in kept} | {"on": oct(5), "by": 2} | other


class TestWhatTheyWish:
    def test_a_former_address_is_kept_with_its_last_day(self):
        ann = donor("Ann Reeve", address="1 Mill Bank", email="ann@mail.example")

        donors.change(donor_id=ann.id, **as_it_is(ann, address="2 Mill Bank"))
        donors.change(donor_id=ann.id, **as_it_is(ann, address="2 Mill Bank", note="moved"))

        earlier = donor_page.donor_facts(donor_id=ann.id).earlier
        assert [(line.address, line.email, line.until_on) for line in earlier] == [("1 Mill Bank", "", oct(5))]

    def test_whoever_wants_e_mail_has_an_address_for_it(self):
        ann = donor("Ann Reeve", email="ann@mail.example")

        with pytest.raises(donors.AddressWanted, match="or choose paper"):
            donors.change(donor_id=ann.id, **as_it_is(ann, wants="email", email=""))

        assert Donor.objects.get().email == "ann@mail.example"

    @pytest.mark.parametrize(
        ("wants", "email", "printed", "mailed"),
        [
            ("", "", True, False), ("", "a@mail.example", True, True), ("paper", "a@mail.example", True, False),
            ("email", "a@mail.example", False, True), ("nothing", "a@mail.example", False, False),
        ],
    )  # fmt: skip
    def test_how_a_paper_reaches_them_follows_their_wish(self, wants, email, printed, mailed):
        ann = donor("Ann", wants=wants, email=email)

        contact = donor_contacts.contacts(ids=[ann.id])[ann.id]

        assert (contact.is_printed, contact.is_mailed, bool(contact.why_not_mailed)) == (printed, mailed, not mailed)

    def test_whoever_does_not_want_to_be_named_is_named_on_their_own_page_alone(self, books, client):
        ann = donor("Ann Reeve", is_unnamed=True)
        gift = make.gift(make.general(), 5_00, oct(2), "a", donor_id=ann.id)

        assert gifts.gift(gift_id=gift.id).row.donor_name == one_donor.UNNAMED
        assert queries.donor(donor_id=ann.id).name == "Ann Reeve"
        assert donor_choices.names(ids=[ann.id]) == {ann.id: "Ann Reeve"}

    def test_a_giving_site_knows_one_donor_by_one_number(self):
        site = GiftSource.objects.create(key=make.key("site"), name="Kindling", way="giving_site", made_by=2)
        ann, ben = donor("Ann"), donor("Ben")
        donors.keep_number(donor_id=ann.id, source=site, number=" 4711 ")

        donors.keep_number(donor_id=ann.id, source=site, number="4711")
        with pytest.raises(donors.NumberTaken, match="Kindling knows another donor by 4711"):
            donors.keep_number(donor_id=ben.id, source=site, number="4711")

        assert list(DonorNumber.objects.values_list("donor", "number")) == [(ann.id, "4711")]


class TestWhoMayBeOne:
    def test_the_same_e_mail_or_the_same_name_and_postcode(self):
        ann = donor("Ann Reeve", email="ANN@mail.example")
        also = donor("A. Reeve", email="ann@mail.example")
        joint = donor("Imke & Tobias Sandoval", address="27 Weir Lane, Larkweir LK2 4QT")
        again = donor("imke and tobias sandoval", address="27 Weir Ln\nLARKWEIR lk24qt")
        donor("Ann Reeve", address="3 Fen Road, Larkweir LK9 1AA")

        found = [(pair.one.donor_id, pair.other.donor_id, pair.by) for pair in donor_twins.twins().pairs]

        assert found == [(ann.id, also.id, "the same e-mail"), (joint.id, again.id, "the same name and postcode")]

    def test_an_address_that_many_share_is_an_office(self):
        for number in range(donor_twins.ALIKE_AT_MOST + 1):
            donor(f"Reader {number}", email="office@school.example")

        assert donor_twins.twins().pairs == ()

    def test_what_somebody_said_is_not_asked_again(self):
        ann, also = donor("Ann", email="ann@mail.example"), donor("Anna", email="ann@mail.example")
        ben, beb = donor("Ben", email="ben@mail.example"), donor("Beb", email="ben@mail.example")

        donor_merges.keep_apart(donor_id=also.id, other_id=ann.id, by=2, on=oct(9))
        undone(merged(beb, ben))

        assert donor_twins.twins().pairs == ()
        assert [(row.one_name, row.other_name, row.on, row.was_merged) for row in donors_apart.apart()] == [
            ("Ben", "Beb", oct(12), True),
            ("Ann", "Anna", oct(9), False),
        ]
        assert donor_merges.ask_again(donor_id=also.id, other_id=ann.id) == 1
        assert [(pair.one.donor_id, pair.other.donor_id) for pair in donor_twins.twins().pairs] == [(ann.id, also.id)]
        assert [row.was_merged for row in donors_apart.apart()] == [True]

    def test_of_two_who_are_one_or_nobody_any_more_nothing_is_told(self):
        """Merged anew since they were kept apart, or erased: there is nothing to compare."""
        ann, also = donor("Ann", email="ann@mail.example"), donor("Anna", email="ann@mail.example")
        donor_merges.keep_apart(donor_id=also.id, other_id=ann.id, by=2, on=oct(9))
        merged(also, ann)

        assert donors_apart.apart() == ()


class TestWhoARowOfAFileIs:
    """By e-mail, by the site's number, by name and postcode: always said, and never by a likeness alone."""

    @pytest.fixture
    def site(self):
        return GiftSource.objects.create(key=make.key("site"), name="Kindling", way="giving_site", made_by=2)

    def row(self, name: str = "", email: str = "", address: str = "", number: str = "") -> GiftRow:
        plain = {"line": 2, "on": oct(2), "gross_minor": 1_00, "fee_minor": 0, "reference": "", "words": ""}
        return GiftRow(name=name, email=email, address=address, number=number, **plain)

    def found(self, site: GiftSource, row: GiftRow) -> tuple:
        donor_id, _, name, match = FileDonors([row], source=site).of(site, row)
        return donor_id, name, match

    def test_each_way_is_said(self, site):
        ann = donor("Ann Reeve", email="ann@mail.example", address="1 Mill Bank, Larkweir LK2 4QT")
        ben = donor("Ben Orr")
        donors.keep_number(donor_id=ben.id, source=site, number="4711")

        rows = (
            self.row("A. Reeve", email="ANN@mail.example"),
            self.row("B. Orr", number="4711"),
            self.row("ann  reeve", address="1 Mill Bank, Larkweir, LK2 4QT"),
            self.row("Ann Reeve", address="Mill Bank 1\nLARKWEIR LK24QT"),
            self.row("Ben Orr"),
            self.row("Ann Reeve", email="ann@mail.example", number="4711"),
            self.row("Ann Reeve", address="9 Fen Road, Larkweir LK9 1AA"),
            self.row(),
        )

        assert [self.found(site, row) for row in rows] == [
            (ann.id, "Ann Reeve", "by e-mail"),
            (ben.id, "Ben Orr", "by the site’s number"),
            (ann.id, "Ann Reeve", "by name and address"),
            (ann.id, "Ann Reeve", "by name and postcode"),
            (ben.id, "Ben Orr", "by name alone"),
            (ann.id, "Ann Reeve", "by e-mail, though its number is another donor’s"),
            (None, "Ann Reeve", "new"),
            (None, "", "nobody is named"),
        ]

    def test_a_merge_is_said_and_the_gift_goes_to_whom_the_row_means(self, site):
        ann, anna = donor("Ann"), donor("Anna", email="anna@mail.example")
        merged(anna, ann)

        assert self.found(site, self.row(email="anna@mail.example")) == (anna.id, "Ann", "by e-mail, merged with Anna")

    def test_two_of_one_name_are_told_apart_or_nobody_is_taken(self, site):
        donor("Ann Reeve", address="1 Mill Bank LK2 4QT")
        other = donor("Ann Reeve", address="3 Fen Road LK9 1AA")

        assert self.found(site, self.row("Ann Reeve"))[2] == "new"
        assert self.found(site, self.row("Ann Reeve", address="Fen Road 3, LK9 1AA"))[0] == other.id

    def test_a_number_is_kept_once_and_never_moved(self, site):
        ann, ben = donor("Ann"), donor("Ben")
        donors.keep_numbers(source=site, numbers={"1": ann.id})
        donors.keep_numbers(source=site, numbers={"1": ben.id, "2": ben.id})

        assert list(DonorNumber.objects.order_by("number").values_list("number", "donor")) == [
            ("1", ann.id), ("2", ben.id),
        ]  # fmt: skip


class TestTwoWhoAreOne:
    @pytest.fixture
    def two(self, books):
        """Ann gave 5.00 and 3.00, Anna 2.00; then they were merged into Ann."""
        ann, anna = donor("Ann"), donor("Anna", email="anna@mail.example")
        make.gift(make.general(), 5_00, oct(2), "a", donor_id=ann.id)
        make.gift(make.general(), 2_00, oct(3), "b", donor_id=anna.id)
        make.gift(make.general(), 3_00, oct(4), "c", donor_id=ann.id)
        return ann, anna

    def read(self, *numbers: int) -> list:
        """Everything that is read of some donors: sums, gifts, traces, names, the lists."""
        year = {"from_on": oct(1), "to_on": oct(31)}
        return [
            [queries.donor(donor_id=number) for number in numbers],
            [[row.gift_id for row in gifts.gifts(donor_id=number).rows] for number in numbers],
            [donor_trace.donor_trace(donor_id=number, **year).given_minor for number in numbers],
            queries.donors(),
            queries.donors(asked="anna@"),
            queries.choices(),
            donor_choices.donor_choices(**year),
            donor_choices.with_money(**year),
            donor_choices.names(ids=numbers),
            [(row.gift_id, row.donor_id, row.donor_name) for row in gifts.gifts().rows],
        ]

    def test_every_reading_follows_and_undoing_leaves_all_as_it_was(self, two):
        ann, anna = two
        before, rows = self.read(ann.id, anna.id), list(Donor.objects.order_by("id").values())

        made = merged(anna, ann)
        line = queries.donor(donor_id=anna.id)
        found = self.read(ann.id, anna.id)
        undone(made)

        assert (line.donor_id, line.name, line.also, line.gifts, line.given_minor) == (
            ann.id, "Ann", ("Anna",), 3, 10_00,
        )  # fmt: skip
        assert found[1][0] == found[1][1] and len(found[1][0]) == 3
        assert found[2] == [10_00, 10_00]
        assert [row.donor_id for row in found[3].rows] == [row.donor_id for row in found[4].rows] == [ann.id]
        assert found[5] == ((ann.id, "Ann"),)
        assert [(one.id, one.gifts, one.given_minor) for one in found[6]] == [(ann.id, 3, 10_00)]
        assert (found[7], found[8]) == ((ann.id,), {ann.id: "Ann", anna.id: "Ann"})
        assert {row[1:] for row in found[9]} == {(ann.id, "Ann")}
        assert self.read(ann.id, anna.id) == before
        assert list(Donor.objects.order_by("id").values()) == rows
        assert audit().findings == ()

    def test_a_gift_recorded_meanwhile_under_either_stays_with_it(self, two):
        ann, anna = two
        made = merged(anna, ann)
        make.gift(make.general(), 4_00, oct(10), "d", donor_id=anna.id)
        undone(made)

        assert [queries.donor(donor_id=number).given_minor for number in (ann.id, anna.id)] == [8_00, 6_00]

    def test_merges_form_chains_and_any_link_is_undone(self, two):
        ann, anna = two
        cleo = donor("Cleo")
        first, second = merged(anna, ann, "first"), merged(ann, cleo, "second")

        def whole() -> list[set[int]]:
            return [set(one_donor.whole(donor_id=number)) for number in (ann.id, anna.id, cleo.id)]

        together = whole()
        undone(first)
        inner_undone = whole()
        undone(second)

        assert together == [{ann.id, anna.id, cleo.id}] * 3
        assert inner_undone == [{ann.id, cleo.id}, {anna.id}, {ann.id, cleo.id}]
        assert whole() == [{ann.id}, {anna.id}, {cleo.id}]
        assert set(one_donor.kin(donor_id=anna.id)) == {ann.id, anna.id, cleo.id}

    def test_the_same_form_sent_twice_is_one_merge_and_nobody_is_merged_twice(self, two):
        ann, anna = two
        made = merged(anna, ann)

        assert merged(anna, ann) == made
        with pytest.raises(donor_merges.SameAlready, match="These two are one donor already"):
            merged(ann, anna, "other")
        undone(made)
        with pytest.raises(donor_merges.UndoneBefore):
            undone(made)

    def test_who_merges_says_why(self, two):
        ann, anna = two

        with pytest.raises(donor_merges.WhyMissing, match="how you know"):
            donor_merges.merge(
                key=make.key("m"), donor_id=anna.id, into_id=ann.id, why=" ", by=2, on=oct(9), at=make.at(oct(9))
            )

        assert not DonorMerge.objects.exists()

    def test_the_database_keeps_what_was_said(self, two):
        ann, anna = two
        made = merged(anna, ann)

        for attack in (
            lambda: DonorMerge.objects.filter(pk=made.pk).update(into=anna),
            lambda: DonorMerge.objects.filter(pk=made.pk).update(by=9),
            lambda: DonorMerge.objects.filter(pk=made.pk).delete(),
            lambda: Donor.objects.filter(pk=ann.pk).update(same_as=ann),
        ):
            with pytest.raises(IntegrityError), transaction.atomic():
                attack()

        assert DonorMerge.objects.get() == made

    def test_the_audit_finds_a_donor_read_as_another_than_the_merges_say(self, two):
        ann, anna = two
        with connection.cursor() as cursor:
            cursor.execute(f"UPDATE ledger_donor SET same_as_id = {ann.id} WHERE id = {anna.id}")  # noqa: S608

        assert audit().findings == (f"Donor {anna.id} is read as {ann.id}, but by the merges as {anna.id}.",)


class TestPages:
    @pytest.fixture
    def greta(self, client):
        from tests.clinic import make as clinic

        opened = clinic.open_clinic()
        client.force_login(opened.bookkeeper, "django.contrib.auth.backends.ModelBackend")
        return client

    def test_two_are_compared_merged_shown_as_one_and_undone(self, greta):
        ann, anna = (donor(name, email="ann@mail.example") for name in ("Ann Reeve", "Anna Reeve"))
        pair = [ann.id, anna.id]

        proposed = greta.get(reverse("ledger:donor_twins")).content.decode()
        side_by_side = greta.get(reverse("ledger:donor_merge", args=pair)).content.decode()
        said = {"key": str(make.key("form")), "into_id": ann.id, "why": "One letter box."}
        empty = greta.post(reverse("ledger:donor_merge", args=pair), said | {"why": ""})
        sent = greta.post(reverse("ledger:donor_merge", args=pair), said)
        moved = greta.get(reverse("ledger:donor", args=[anna.id]))
        shown = greta.get(reverse("ledger:donor", args=[ann.id])).content.decode()
        undo = reverse("ledger:donor_merge_undo", args=[DonorMerge.objects.get().pk])
        asked = greta.get(undo).content.decode()
        greta.post(undo, {"why": "Mother and daughter."})

        assert "the same e-mail" in proposed and "Anna Reeve" in side_by_side
        assert (empty.status_code, "Write it in a few words" in empty.content.decode()) == (422, True)
        assert sent["Location"] == moved["Location"] == reverse("ledger:donor", args=[ann.id])
        assert "is the same donor as Ann Reeve" in shown and undo in shown
        assert "One letter box." in asked
        assert not Donor.objects.filter(same_as__isnull=False).exists()
        assert greta.get(undo).status_code == 404

    def test_they_are_two_and_nobody_is_asked_again(self, greta):
        ann, anna = (donor(name, email="ann@mail.example") for name in ("Ann Reeve", "Anna Reeve"))

        greta.post(reverse("ledger:donors_apart", args=[ann.id, anna.id]))

        told = " ".join(greta.get(reverse("ledger:donor_twins")).content.decode().split())
        assert "Nobody seems to stand here twice" in told and "by Greta Lindqvist" in told and "Compare again" in told
        again = greta.post(reverse("ledger:donors_ask_again", args=[ann.id, anna.id]))
        assert again["Location"] == reverse("ledger:donor_merge", args=[ann.id, anna.id])
        assert "the same e-mail" in greta.get(reverse("ledger:donor_twins")).content.decode()

    def test_somebody_looks_for_the_other_name_of_a_donor(self, greta):
        ann, anna = donor("Ann Reeve"), donor("Anna Fen")

        page = greta.get(reverse("ledger:donor_twins"), {"donor": ann.id, "name": "fen"}).content.decode()

        assert reverse("ledger:donor_merge", args=[ann.id, anna.id]) in page

    def test_wishes_are_written_down_and_shown(self, greta):
        said = {"key": str(make.key("form")), "name": "Ann Reeve", "kind": "person", "wants": "email", "language": "es"}

        refused = greta.post(reverse("ledger:donor_add"), said)
        sent = greta.post(reverse("ledger:donor_add"), said | {"email": "ann@mail.example", "is_unnamed": "on"})
        page = greta.get(sent["Location"]).content.decode()

        assert "Write the e-mail address to which papers go" in refused.content.decode()
        assert "papers by e-mail" in page and "Spanish" in page and "in English only so far" in page
        assert "Does not want to be named" in page
