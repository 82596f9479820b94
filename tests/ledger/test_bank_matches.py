"""Lines at the bank find what stands for them: proposed with the reason, confirmed by a person, each once."""

from datetime import date

import pytest
from django.db import IntegrityError, connection, transaction

from ledger.actions import bank_erasures, charges, donors, returns, reversals, spending
from ledger.actions import bank_matches as actions
from ledger.actions import bank_reconciled as signing
from ledger.actions.bank_matches import Hand
from ledger.audit import audit
from ledger.models import BankFile, BankLine, BankLineWords, BankMatch, BankMatchEntry, BankMatchLine, BankRule, Entry
from ledger.posting import PostingRefused
from ledger.queries import bank_files as file_queries
from ledger.queries.bank_proposals import proposals
from ledger.queries.bank_reconciled import reconciled
from ledger.queries.donor_erasures import erasable
from tests.ledger import make
from tests.ledger.bank import brought, camt, taken
from tests.ledger.make import oct

FIGURES = ("cost_minor", "usual_minor", "asked_minor")
HAND = Hand(by=make.BOOKKEEPER, today=oct(31), at=make.at(oct(31)))


@pytest.fixture
def books(db, settings, tmp_path):
    settings.AS_OF, settings.MEDIA_ROOT = "2026-10-31", tmp_path
    make.books()
    make.opened(make.general(), 1_000_00)


def lines(*moved: tuple[int, int, str], opening: int = 1_000_00) -> None:
    taken(camt([(oct(day), minor, words, words) for day, minor, words in moved], opening=opening))


def proposed() -> list[tuple[int, str, bool]]:
    found = proposals(today=oct(31))
    return [(line.amount_minor, one.way if one else "", bool(one and one.is_certain)) for line, one in found]


def confirm_all() -> None:
    found = [one for _, one in proposals(today=oct(31)) if one]
    actions.confirm(tokens={one.line.line_id: one.token for one in found}, hand=HAND)


def spent(minor: int, on: date, words: str = "insurance") -> Entry:
    return spending.spend(
        key=make.key(f"spent {minor} {on}"), kind="management", fund_id=make.general().id, amount_minor=minor,
        words=words, on=on, by=make.BOOKKEEPER, today=oct(31), at=make.at(on),
    )  # fmt: skip


def test_an_entry_of_the_books_with_the_same_amount(books):
    spent(61_50, oct(4))
    spent(20_00, oct(3), "stamps")
    spent(20_00, oct(5), "auditor Vane")
    lines((6, -61_50, "Hearth Insurance"), (7, -20_00, "VANE & sons"), (8, -20_00, "somebody"))

    assert proposed() == [(-61_50, "entry", True), (-20_00, "entry", True), (-20_00, "entry", False)]
    confirm_all()

    told = {part.line.amount_minor: part.match.entries.get().entry.words.note for part in BankMatchLine.objects.all()}
    assert told[-61_50] == "insurance"
    assert reconciled().agrees and audit().findings == ()


def test_checks_in_a_deposit(books):
    for day, minor in ((1, 25_00), (1, 40_00), (2, 15_00), (3, 100_00), (3, 7_00)):
        make.gift(make.general(), minor, oct(day))
    lines((5, 80_00, "deposit"), (6, 107_00, "deposit"))

    first, second = (one for _, one in proposals(today=oct(31)))
    assert (first.way, first.is_certain, [one.amount_minor for one in first.entries]) == (
        "deposit", True, [25_00, 40_00, 15_00],
    )  # fmt: skip
    assert first.reason == "The 3 gifts by check of October 1, 2026 to October 2, 2026 make it."
    assert [one.amount_minor for one in second.entries] == [100_00, 7_00]
    confirm_all()

    assert BankMatchEntry.objects.filter(stands=True).count() == 5
    assert reconciled().waiting == () and reconciled().agrees


def test_a_giving_sites_payout_of_some_days(books):
    leg = make.fund("Wound fund", "purpose", purpose={"dressing"})
    for day, into, minor in ((1, leg, 30_00), (1, make.general(), 10_00), (2, leg, 5_00), (3, make.general(), 8_00)):
        make.gift(into, minor, oct(day), way="giving_site", fee_minor=1_00)
    lines((5, 42_00, "payout 1"), (9, 7_00, "payout 2"))

    assert proposed() == [(42_00, "payout", True), (7_00, "payout", True)]
    confirm_all()

    assert make.account("clearing") == 0 and make.account("bank") == 1_049_00
    assert reconciled().agrees and audit().findings == ()


def test_a_payout_less_a_gift_that_went_back_and_one_taken_back(books):
    """The site takes a refund off its next payout, whenever somebody records it."""
    kept, gone = (make.gift(make.general(), 10_00, oct(day), way="giving_site", fee_minor=1_00) for day in (1, 2))
    returns.give_back(
        key=make.key("back"), gift_id=gone.id, how="refund", by=1, today=oct(12), at=make.at(oct(12)),
        why="The giver asked.", way="giving_site",
    )  # fmt: skip
    lines((5, 8_00, "payout"))

    ((_, one),) = proposals(today=oct(31))
    assert (one.way, one.is_certain) == ("payout", True) and "less fees and one gift that went back" in one.reason
    confirm_all()
    assert make.account("clearing") == 0
    line, entry = BankLine.objects.get(), Entry.objects.get(kind="payout")
    actions.undo(line=line, hand=HAND)
    reversals.take_back(key=make.key("t"), number=entry.id, by=1, today=oct(31), at=make.at(oct(31)), why="Wrong.")

    ((_, again),) = proposals(today=oct(31))
    assert again.way == "payout" and kept.id
    confirm_all()
    assert make.account("clearing") == 0 and reconciled(on=oct(5)).left == () and audit().findings == ()


def test_a_partner_the_practice_and_a_bill_are_owed_just_that(books):
    make.agreed(40)
    slips = [
        make.slip("one", party_key=make.BRINDLE_YARD),
        make.slip("two", owed_to="bill", words="Blood, Weir Lab", **dict.fromkeys(FIGURES, 31_00)),
    ]
    charges.post_day(slips=slips, by=make.MANAGER, today=oct(14), at=make.at(oct(14)))
    due, practice = make.account("due_from_partners"), make.account("due_to_practice")
    lines((20, due, "Brindle Yard Rescue"), (21, practice, "transfer"), (22, -31_00, "Weir lab, invoice"))

    assert proposed() == [(due, "partner", True), (practice, "practice", False), (-31_00, "bill", True)]
    confirm_all()

    assert [make.account(code) for code in ("due_from_partners", "due_to_practice", "bills_to_pay")] == [0, 0, 0]
    assert reconciled().agrees and audit().findings == ()


def test_a_rule_is_remembered_and_used_until_it_is_ended(books):
    lines((5, -4_00, "Account fee September"), (6, 1_25, "Interest"))
    fee, interest = BankLine.objects.order_by("on")
    actions.record(
        key=make.key("fee"), line=fee, way="spending", account="management", hand=HAND, words="account fee",
        fund_id=make.general().id, remember="account fee",
    )  # fmt: skip
    actions.record(
        key=make.key("interest"), line=interest, way="income", hand=HAND, words="interest", fund_id=make.general().id
    )
    taken(camt([(oct(20), -4_50, "Account FEE October", "")], opening=997_25))

    ((_, one),) = proposals(today=oct(31))
    assert (one.way, one.is_certain, one.reason) == (
        "spending", True, "It says “account fee”: that was known before as spending, management.",
    )  # fmt: skip
    confirm_all()
    actions.end_rule(rule=BankRule.objects.get(), by=1)

    assert make.legs(Entry.objects.latest("id").id) == [("management", "bank", 4_50, "General")]
    assert make.account("other_income") == -1_25
    assert reconciled().agrees and audit().findings == ()


def test_lines_that_undo_each_other_need_no_entry(books):
    lines((5, 12_00, "wrong account"), (6, -12_00, "returned"))

    assert proposed() == [(12_00, "own", False)]
    confirm_all()

    assert BankMatch.objects.get().lines.count() == 2 and reconciled().agrees


def test_what_was_shown_is_what_is_confirmed(books):
    spent(61_50, oct(4))
    lines((6, -61_50, "Hearth"))
    ((line, one),) = proposals(today=oct(31))
    spent(61_50, oct(6))

    with pytest.raises(actions.ProposalMoved):
        actions.confirm(tokens={line.line_id: one.token}, hand=HAND)
    assert not BankMatch.objects.exists()


def test_a_line_and_an_entry_stand_in_one_match_at_most_and_to_the_cent(books):
    one, other = spent(61_50, oct(4)), spent(20_00, oct(4))
    lines((6, -61_50, "Hearth"), (7, -20_00, "Vane"))
    first, second = BankLine.objects.order_by("on")
    facts = {"hand": HAND, "why": "by hand"}

    with pytest.raises(actions.AmountsDiffer, match="The bank moved .61.50 and the entries .20.00"):
        actions.match(key=make.key("a"), line_ids=[first.id], numbers=[other.id], **facts)
    actions.match(key=make.key("b"), line_ids=[first.id], numbers=[one.id], **facts)
    with pytest.raises(actions.LineMatched):
        actions.match(key=make.key("c"), line_ids=[first.id], numbers=[one.id], **facts)
    with pytest.raises(actions.WayUnclear):
        actions.record(key=make.key("d"), line=second, way="gift", hand=HAND)
    actions.undo(line=first, hand=HAND)
    actions.match(key=make.key("e"), line_ids=[first.id, second.id], numbers=[one.id, other.id], **facts)

    assert [(match.undone_by, match.lines.count()) for match in BankMatch.objects.order_by("id")] == [(2, 1), (None, 2)]
    assert audit().findings == ()


def test_the_database_refuses_what_goes_round_the_action(books):
    entry = spent(61_50, oct(4))
    lines((6, -61_50, "Hearth"), (7, -1_00, "fee"))
    line, fee = BankLine.objects.order_by("on")
    made = actions.match(key=make.key("b"), line_ids=[line.id], numbers=[entry.id], hand=HAND)

    def uneven():
        match = BankMatch(id=7, key=make.key("x"), way="entry", made_by=1, made_at=make.at(oct(31)))
        BankMatchLine.objects.create(match=match, line=fee)
        match.save(force_insert=True)

    attacks = (
        uneven,
        lambda: BankMatchLine.objects.create(match=made, line=fee),
        lambda: BankMatchEntry.objects.create(match_id=9, entry=entry),
        lambda: BankMatchLine.objects.update(stands=False),
        lambda: BankMatchLine.objects.all().delete(),
        lambda: BankMatch.objects.update(why="otherwise"),
        lambda: BankMatch.objects.all().delete(),
        lambda: BankMatchEntry.objects.update(entry=1),
    )
    for attack in attacks:
        with pytest.raises(IntegrityError), transaction.atomic():
            attack()
            connection.check_constraints()
    assert audit().findings == ()


def test_reconciled_to_a_day_signed_and_taken_back(books):
    make.gift(make.general(), 25_00, oct(3))
    late = spent(9_00, oct(8), "stamps")
    lines((4, 25_00, "Somebody"), (6, -4_00, "fee"))
    confirm_all()

    found = reconciled()
    assert (found.on, found.bank_minor, found.books_minor, found.begun_minor) == (oct(6), 1_021_00, 1_025_00, 0)
    assert ([one.amount_minor for one in found.left], found.agrees) == ([-4_00], False)
    said = {"bank_minor": 1_021_00, "books_minor": 1_025_00, "why": "", "by": 1, "at": make.at(oct(31))}
    with pytest.raises(signing.NotReconciled):
        signing.sign(key=make.key("s"), on=oct(6), **said)

    line = BankLine.objects.get(amount_minor=-4_00)
    actions.record(key=make.key("f"), line=line, way="spending", account="management", words="fee", hand=HAND)
    with pytest.raises(signing.FiguresMoved):
        signing.sign(key=make.key("s"), on=oct(6), **said)
    signing.sign(key=make.key("s"), on=oct(6), **{**said, "books_minor": 1_021_00})
    with pytest.raises(actions.AlreadySigned, match="reconciled to 2026-10-06"):
        actions.undo(line=line, hand=HAND)
    with pytest.raises(PostingRefused):
        signing.take_back(on=oct(5), by=1)

    taken(camt([(oct(10), 5_00, "x", "y")], opening=1_021_00))
    after = reconciled()
    assert (after.waiting_minor, [one.number for one in after.waiting]) == (-9_00, [late.id])
    assert reconciled(on=oct(6)).signed and audit().findings == ()
    signing.take_back(on=oct(6), by=1)
    assert reconciled(on=oct(6)).signed is None


def test_what_was_on_its_way_on_that_day_waits_and_the_beginning_is_told(books):
    """A check of October 4 reaches the bank on the 9th: on the 6th it is in the books alone."""
    entry = spent(61_50, oct(4))
    lines((6, 3_00, "gift"), (9, -61_50, "check"), opening=990_00)
    confirm_all()
    line = BankLine.objects.get(amount_minor=3_00)
    actions.record(key=make.key("g"), line=line, way="gift", hand=HAND)

    found = reconciled(on=oct(6))

    assert found.begun_on == oct(6) and [one.number for one in found.waiting] == []
    assert found.begun_minor == 1_000_00 - 61_50 - 990_00
    assert reconciled().begun_minor == 10_00 and not reconciled().agrees and reconciled().may_sign
    assert entry.id and found.books_minor == found.bank_minor + found.begun_minor + found.waiting_minor
    with pytest.raises(signing.WhyMissing):
        signing.sign(
            key=make.key("s"), on=oct(9), bank_minor=reconciled().bank_minor, books_minor=reconciled().books_minor,
            why=" ", by=1, at=make.at(oct(31)),
        )  # fmt: skip


def test_a_person_is_erased_from_what_the_bank_wrote_and_every_sum_stays(books):
    """Their own line loses its words, the copy that names them goes, and another with a part of the name keeps it."""
    donor = donors.add(key=make.key("d"), name="Orsolya Penhallow", on=oct(1), by=1)
    make.gift(make.general(), 25_00, oct(1), donor_id=donor.id)
    content = camt([(oct(2), 25_00, "O PENHALLOW", "from Orsolya Penhallow"), (oct(3), 5_00, "Penhallow Ltd", "rent")])
    taken(content)
    confirm_all()
    said = {"made_by": 1, "made_at": HAND.at}
    for words, way in (("penhallow", "gift"), ("Penhallow, Orsolya", "income"), ("Penhallow Ltd", "spending")):
        BankRule.objects.create(key=make.key(words), contains=words, way=way, **said)

    gone = bank_erasures.forget(what=erasable(donor_id=donor.id), on=oct(31), by=1)

    assert sorted(BankLineWords.objects.values_list("who", "words")) == [("", ""), ("Penhallow Ltd", "rent")]
    assert list(BankRule.objects.order_by("id").values_list("contains", "ended_by")) == [
        ("[erased]", 1), ("[erased]", 1), ("Penhallow Ltd", None),
    ]  # fmt: skip
    assert [digest for digest, _ in gone] == [BankFile.objects.get().sha256]
    with pytest.raises(file_queries.CopyGone, match="let go on October 31, 2026"):
        file_queries.judged_file(file=BankFile.objects.get(), today=oct(31))
    with pytest.raises(file_queries.CopyGone):
        brought(content)
    assert BankMatch.objects.count() == 1 and audit().findings == ()
