"""The money pages: read by label and row, written by form, every refusal told and nothing typed lost."""

import csv
import io
import re
import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from clinic.models import User
from config.roles import Role
from ledger.actions import limits
from ledger.models import Agreement, Donor, Entry, Fund, Gift, Posting
from ledger.queries.fund_journal import journal
from tests.ledger import make
from tests.ledger.make import BRACKEN, BRINDLE_YARD, oct
from tests.ledger.test_attacks import rows


@pytest.fixture(autouse=True)
def as_of(settings):
    settings.AS_OF = "2026-10-31"


def person(role: Role) -> User:
    user = User.objects.create(sign_in=role.value, name=f"The {role.words}", initials="XX")
    user.roles_held.create(role=role.value)
    return user


@pytest.fixture
def bookkeeper(client, posted):
    client.force_login(person(Role.BOOKKEEPER), "django.contrib.auth.backends.ModelBackend")
    return client


def text(response) -> str:
    """The page's words, without its tags and with single spaces."""
    main = response.content.decode().partition("<main")[2].partition("</main>")[0]
    return " ".join(re.sub(r"<[^>]+>", " ", main).split())


def read(client, name, /, *args, **query) -> str:
    response = client.get(reverse(f"ledger:{name}", args=args), query)
    assert response.status_code == 200, name
    return text(response)


def send(client, name, /, *args, **said):
    return client.post(reverse(f"ledger:{name}", args=args), {"key": uuid.uuid4().hex, **said})


PAGES = {
    "funds": (),
    "fund": lambda: (Fund.objects.get(kind="animal").id,),
    "fund_open": (),
    "fund_close": lambda: (make.general().id,),
    "opening": (),
    "gifts": (),
    "gift": lambda: (Gift.objects.first().id,),
    "gift_record": (),
    "goods_record": (),
    "payout_record": (),
    "in_and_out": (),
    "transfer_record": (),
    "leftovers": (),
    "spending_record": (),
    "practice": (),
    "partner_money": (BRINDLE_YARD,),
    "conditional_gifts": (),
    "conditional_gift_record": (),
    "leftover": lambda: (Fund.objects.get(kind="animal").id,),
    "leftover_answer": lambda: (Fund.objects.get(kind="animal").id, Gift.objects.first().id),
    "donors": (),
    "donor_add": (),
    "agreements": (BRINDLE_YARD,),
    "policies": (),
    "policy": ("large_gift_minor",),
    "entry": lambda: (Entry.objects.filter(kind="charge").first().id,),
    "entry_take_back": lambda: (Gift.objects.first().entry_id,),
    "gift_return": lambda: (Gift.objects.filter(way="giving_site").first().id,),
}


@pytest.mark.parametrize("name", PAGES)
def test_every_page_is_read_in_a_fixed_number_of_queries(bookkeeper, django_assert_max_num_queries, name):
    args = PAGES[name]() if callable(PAGES[name]) else PAGES[name]

    with django_assert_max_num_queries(28):
        read(bookkeeper, name, *args)


def test_the_list_of_funds_foots(bookkeeper):
    page = read(bookkeeper, "funds")

    assert "Bracken's leg" in page.replace("&#x27;", "'")
    together = sum(minor for name, minor in make.by_name().items() if name in {"General", "Bracken's leg"})
    assert f"2 funds {together / 100:.2f}" in page


def test_a_fund_rolls_forward_and_its_journal_goes_by_animal_and_day(bookkeeper):
    """By hand: gift 30.00, fee 1.20, boarding 24.00 and what was left of it, less what the correction gave back."""
    fund = Fund.objects.get(kind="animal")

    page = read(bookkeeper, "fund", fund.id)

    assert "Opening balance 0.00 Gifts 30.00 Came in 30.00 Boarding 24.00 Giving-site fees 1.20 Went out 25.20" in page
    assert "Closing balance 4.80" in page
    assert "Bracken, care of Oct 13" in page
    assert "Boarding, standard: correction of care 4.80 4.80" in page


def test_a_period_that_ends_before_it_begins_is_told(bookkeeper):
    response = bookkeeper.get(
        reverse("ledger:fund", args=[make.general().id]), {"from_on": "2026-10-05", "to_on": "2026-10-01"}
    )

    assert response.status_code == 422
    assert "The period ends before it begins" in text(response)


def test_a_journal_goes_on_page_by_page_and_every_balance_follows(bookkeeper):
    for number in range(95):
        make.gift(make.general(), 1_00 + number, oct(1 + number % 14), f"many {number}")
    fund, after, seen, balances = make.general(), "", [], []
    while True:
        found = journal(fund_id=fund.id, after=after)
        seen += [line.entry_number for row in found.rows for line in row.lines]
        balances += [(row.in_minor - row.out_minor, row.balance_minor) for row in found.rows]
        after = found.older
        if not after:
            break

    assert len(seen) == len(set(seen)) == Posting.objects.filter(fund=fund).values("entry").distinct().count()
    assert balances[0][1] == make.by_name()["General"]
    assert all(before[1] - before[0] == later[1] for before, later in zip(balances, balances[1:], strict=False))
    assert balances[-1][0] == balances[-1][1]


class TestGifts:
    def said(self, **facts):
        defaults = {
            "donor_id": "",
            "fund_id": make.general().id,
            "amount_minor": "1,250.50".replace(",", ""),
            "received_on": "2026-10-10",
            "way": "giving_site",
            "fee_minor": "3.20",
            "words": "For whoever needs it",
            "apart": "together",
        }
        return {**defaults, **facts}

    def test_are_recorded_with_their_fee_and_shown(self, bookkeeper):
        response = send(bookkeeper, "gift_record", **self.said())

        gift = Gift.objects.order_by("-id").first()
        assert response["Location"] == reverse("ledger:gift", args=[gift.id])
        page = read(bookkeeper, "gift", gift.id)
        assert "Giving-site fee 3.20 Waiting in General whatever is needed most 1,247.30 Given General 1,250.50" in page
        assert gift.entry.by == User.objects.get().id

    def test_a_form_sent_twice_is_one_gift(self, bookkeeper):
        key = uuid.uuid4().hex
        before = Gift.objects.count()

        first = send(bookkeeper, "gift_record", **self.said(key=key))
        again = send(bookkeeper, "gift_record", **self.said(key=key))

        assert first["Location"] == again["Location"]
        assert Gift.objects.count() == before + 1

    @pytest.mark.parametrize(
        ("facts", "sentence"),
        [
            ({"amount_minor": "0"}, "The gift must be above zero"),
            ({"amount_minor": "-5"}, "The gift must be above zero"),
            ({"amount_minor": "twelve"}, "Write an amount in figures"),
            ({"amount_minor": "1.234"}, "Write at most 2 digits behind the point"),
            ({"amount_minor": "9" * 20}, "more than any amount here can be"),
            ({"received_on": "2026-11-15"}, "has not come yet"),
            ({"received_on": "soon"}, "Write a date, such as"),
            ({"fund_id": ""}, "Choose a fund"),
            ({"way": "bank"}, "A fee belongs to a giving site"),
            ({"fee_minor": "2000"}, "lies between zero and the gift"),
        ],
    )
    def test_refusals_are_told_and_nothing_typed_is_lost(self, bookkeeper, facts, sentence):
        before = rows()

        response = send(bookkeeper, "gift_record", **self.said(**facts))

        assert response.status_code == 422
        assert sentence in text(response)
        assert "For whoever needs it" in response.content.decode()
        assert rows() == before

    def test_what_it_paid_stands_line_by_line(self, bookkeeper):
        gift = Gift.objects.get(way="giving_site")

        page = read(bookkeeper, "gift", gift.id)

        assert "Bracken Boarding, standard October 13, 2026" in page
        assert "Giving-site fee 1.20 Waiting in Bracken&#x27;s leg 4.80" in page

    def test_its_lines_as_a_file_sum_to_the_gift(self, bookkeeper):
        gift = Gift.objects.get(way="giving_site")

        answer = bookkeeper.get(reverse("ledger:gift_lines", args=[gift.id, "csv"]))

        rows = list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))
        assert rows[0] == ["What", "For", "Day of care", "Entry", "Amount"]
        assert {row[0] for row in rows[1:]} == {"care", "giving-site fee", "waiting"}
        assert sum(Decimal(row[-1]) for row in rows[1:]) == Decimal(gift.amount_minor) / 100

    def test_typed_wrong_is_taken_back(self, bookkeeper):
        gift = make.gift(make.general(), 7_00, oct(12), fee_minor=20, way="giving_site")

        response = send(bookkeeper, "entry_take_back", gift.entry_id, why="It was 70.00")

        assert response.status_code == 303
        page = read(bookkeeper, "gift", gift.id)
        assert "This gift was taken back" in page
        assert "Taken back 7.00 Given General 7.00" in page
        story = read(bookkeeper, "entry", gift.entry_id)
        assert "The whole story" in story
        assert "It was 70.00" in story

    def test_spent_is_not_simply_taken_back(self, bookkeeper):
        gift = Gift.objects.get(way="giving_site")
        before = rows()

        response = send(bookkeeper, "entry_take_back", gift.entry_id, why="Wrong")

        assert response.status_code == 422
        assert "has paid for something already" in text(response)
        assert rows() == before

    def test_a_spent_gift_goes_back_and_says_what_happened_to_what_it_paid(self, bookkeeper):
        """E3."""
        gift = Gift.objects.get(way="giving_site")

        response = send(bookkeeper, "gift_return", gift.id, how="chargeback", way="bank", why="The bank's letter")

        assert response.status_code == 303
        page = read(bookkeeper, "gift", gift.id).replace("&#x27;", "'")
        assert "30.00 of it went back on" in page
        assert "charged back. The bank's letter" in page
        assert "It goes back" not in page

    def test_more_than_is_left_of_a_gift_never_goes_back(self, bookkeeper):
        gift = Gift.objects.get(way="giving_site")
        before = rows()

        response = send(bookkeeper, "gift_return", gift.id, how="refund", way="bank", why="asked", amount_minor="30.01")

        assert response.status_code == 422
        assert "More would go back than is left of this gift" in text(response)
        assert rows() == before

    def test_care_is_not_taken_back_here(self, bookkeeper):
        number = Entry.objects.filter(kind="charge").first().id
        before = rows()

        response = send(bookkeeper, "entry_take_back", number, why="Wrong")

        assert response.status_code == 422
        assert "Care is corrected on the animal" in text(response)
        assert rows() == before


def test_goods_and_payouts_are_recorded(bookkeeper):
    goods = send(
        bookkeeper,
        "goods_record",
        words="bandages",
        quantity="2.5",
        unit="box",
        fair_value_minor="9.00",
        received_on="2026-10-10",
    )
    fund = Fund.objects.get(kind="animal")
    too_much = send(bookkeeper, "payout_record", fund_id=fund.id, amount_minor="28.81", on="2026-10-12")
    payout = send(bookkeeper, "payout_record", fund_id=fund.id, amount_minor="28.80", on="2026-10-12")

    assert "2.5 boxes, bandages, at fair value" in read(bookkeeper, "gifts")
    assert goods.status_code == 303
    assert "more than it holds for this fund" in text(too_much)
    assert payout["Location"] == reverse("ledger:entry", args=[Entry.objects.order_by("-id").first().id])
    assert make.account("clearing") == 0


def test_donors_are_added_found_and_changed(bookkeeper):
    send(bookkeeper, "donor_add", name="Ottoline Marsh", kind="person", address="3 Weir Lane")
    donor = Donor.objects.get()
    nameless = send(bookkeeper, "donor_add", name=" ", kind="person")
    send(bookkeeper, "donor_change", donor.id, name="Ottoline Marsh", kind="estate")
    make.gift(make.general(), 5_00, oct(10), donor_id=donor.id)

    assert nameless.status_code == 422
    assert "Ottoline Marsh" in read(bookkeeper, "donors", name="marsh")
    assert "No donor is found" in read(bookkeeper, "donors", name="nobody")
    page = read(bookkeeper, "donor", donor.id)
    assert "estate" in page
    assert "1 gift, in money 5 .00" in page
    assert bookkeeper.get(reverse("ledger:donor", args=[99])).status_code == 404


class TestFunds:
    def test_are_opened_for_a_purpose(self, bookkeeper):
        response = send(
            bookkeeper,
            "fund_open",
            name="Dressings",
            kind="purpose",
            traits=["dressing"],
            is_restricted="on",
            leftover="general care",
            on="2026-10-14",
        )

        fund = Fund.objects.get(name="Dressings")
        assert response["Location"] == reverse("ledger:fund", args=[fund.id])
        assert (fund.traits, fund.is_restricted) == ("dressing", True)
        assert "Nothing has been posted in this fund yet" in read(bookkeeper, "fund", fund.id)

    def test_for_an_animal_come_with_its_key(self, bookkeeper):
        page = bookkeeper.get(reverse("ledger:fund_open"), {"subject_key": BRACKEN, "name": "Bracken again"})
        send(
            bookkeeper,
            "fund_open",
            name="Bracken again",
            kind="animal",
            subject_key=BRACKEN,
            is_restricted="on",
            leftover="general care",
            on="2026-10-14",
        )

        assert f'value="{BRACKEN}"' in page.content.decode()
        assert "gifts that name this animal" in text(page)
        assert Fund.objects.get(name="Bracken again").subject_key == BRACKEN

    def test_without_a_leftover_clause_are_refused(self, bookkeeper):
        response = send(
            bookkeeper,
            "fund_open",
            name="New",
            kind="purpose",
            traits=["dressing"],
            is_restricted="on",
            on="2026-10-14",
        )

        assert response.status_code == 422
        assert "Write what happens to money that is not needed" in text(response)
        assert not Fund.objects.filter(name="New").exists()

    def test_close_when_empty(self, bookkeeper):
        fund = make.fund("Done", "purpose", purpose={"dressing"})

        full = bookkeeper.post(reverse("ledger:fund_close", args=[make.general().id]), {"sure": "yes"})
        done = bookkeeper.post(reverse("ledger:fund_close", args=[fund.id]), {"sure": "yes"})

        assert full.status_code == 422
        assert "General is not empty" in text(full)
        assert done.status_code == 303
        assert Fund.objects.get(id=fund.id).closed_on == oct(31)
        assert "1 closed fund" in read(bookkeeper, "funds")
        assert "closed October 31, 2026" in read(bookkeeper, "funds", closed="all")

    def test_opening_balances_are_recorded_and_listed(self, bookkeeper):
        response = send(bookkeeper, "opening", fund_id=make.general().id, amount_minor="12.00", on="2026-10-01")
        zero = send(bookkeeper, "opening", fund_id=make.general().id, amount_minor="0", on="2026-10-01")

        assert response.status_code == 303
        assert zero.status_code == 422
        assert "Together 32.00" in read(bookkeeper, "opening")


class TestAgreements:
    def test_are_ended_and_made_anew(self, bookkeeper):
        first = Agreement.objects.get()
        overlapping = send(
            bookkeeper, "agreements", BRINDLE_YARD, name="x", percent="50", of="whole", from_on="2026-10-20"
        )
        ended = send(bookkeeper, "agreement_end", BRINDLE_YARD, agreement_id=first.id, until_on="2026-10-19")
        made = send(bookkeeper, "agreements", BRINDLE_YARD, name="x", percent="50", of="whole", from_on="2026-10-20")

        assert overlapping.status_code == 422
        assert "two never overlap" in text(overlapping)
        assert (ended.status_code, made.status_code) == (303, 303)
        page = read(bookkeeper, "agreements", BRINDLE_YARD)
        assert "40 % of what gifts naming the animal leave over every kind October 1, 2026 October 19, 2026" in page
        assert "50 % of the whole charge" in page

    def test_of_another_partner_cannot_be_ended_here(self, bookkeeper):
        first = Agreement.objects.get()

        response = send(bookkeeper, "agreement_end", "other", agreement_id=first.id, until_on="2026-10-19")

        assert response.status_code == 404
        assert Agreement.objects.get().until_on is None

    def test_an_end_before_the_beginning_is_told(self, bookkeeper):
        first = Agreement.objects.get()

        response = send(bookkeeper, "agreement_end", BRINDLE_YARD, agreement_id=first.id, until_on="2026-09-19")

        assert response.status_code == 422
        assert "on or after the day on which it begins" in text(response)


def test_a_reader_sees_all_and_is_offered_nothing(client, posted):
    client.force_login(person(Role.READER), "django.contrib.auth.backends.ModelBackend")

    for name in ("funds", "fund", "gifts", "gift", "donors", "opening", "agreements", "entry"):
        args = PAGES[name]() if callable(PAGES[name]) else PAGES[name]
        response = client.get(reverse(f"ledger:{name}", args=args))
        assert response.status_code == 200
        assert 'method="post"' not in response.content.decode().partition("<main")[2], name
        assert not re.search(r"Record a|Add a|Open a fund|take it back", text(response)), name


def test_what_is_not_there_is_not_found(bookkeeper):
    for name in ("fund", "gift", "entry", "fund_close", "entry_take_back", "donor_change"):
        assert bookkeeper.get(reverse(f"ledger:{name}", args=[9_999])).status_code == 404, name


class TestPolicies:
    def test_are_set_by_the_manager_and_read_by_everybody(self, client, posted):
        client.force_login(person(Role.MANAGER), "django.contrib.auth.backends.ModelBackend")
        said = {"value": "no", "from_on": "2026-10-31", "why": "The board has decided so."}

        answer = send(client, "policy", "general_ceiling", **said)

        assert answer.status_code == 303
        client.force_login(person(Role.READER), "django.contrib.auth.backends.ModelBackend")
        page = read(client, "policies")
        assert "would have cost? no October 31, 2026 The board has decided so." in page.replace("The manager ", "")
        assert "Large gifts Above which amount does a gift stand in a fund of its own? 500.00 October 1, 2026" in page
        assert "Set it anew" not in read(client, "policy", "general_ceiling")

    def test_a_refusal_keeps_what_was_typed(self, client, posted):
        client.force_login(person(Role.MANAGER), "django.contrib.auth.backends.ModelBackend")
        before = rows()

        answer = send(client, "policy", "large_gift_minor", value="12.50", from_on="2026-10-30", why="Typed wrong.")

        assert (answer.status_code, rows()) == (422, before)
        page = answer.content.decode()
        assert "2026-10-30 has passed" in page
        assert 'value="12.50"' in page


@pytest.mark.parametrize(
    ("page", "said"),
    [
        ("limits", {"per": "animal", "most_minor": "40", "from_on": "2026-10-01"}),
        ("budget", {"words": "Dressings", "amount_minor": "40"}),
        ("budget_dates", {}),
    ],
)
def test_nothing_is_written_for_a_fund_that_is_not_there(bookkeeper, page, said):
    before = rows()

    assert send(bookkeeper, page, 999_999, **said).status_code == 404

    assert rows() == before


def test_the_policies_name_the_limits_of_single_funds(bookkeeper):
    """D2: a limit of a fund is in force, another has ended; the page of the policies names the one that holds."""
    fund = make.general()
    for per, most in (("animal", 800_00), ("month", 300_00)):
        made = limits.limit(
            key=uuid.uuid4(), fund_id=fund.id, per=per, most_minor=most, from_on=oct(1), by=make.MANAGER
        )
    limits.end(limit_id=made.id, until_on=oct(15))

    shown = read(bookkeeper, "policies")

    assert f"{fund.name} per animal 800.00 October 1, 2026" in shown.replace("&#x27;", "'")
    assert "300.00" not in shown
