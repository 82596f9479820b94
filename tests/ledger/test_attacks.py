"""Whatever is tried against the books is refused by the database itself, and every row stays as it was."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.models import F

from config import triggers
from ledger.actions import carrying, price_approvals
from ledger.audit import audit
from ledger.models import (
    Account,
    Advance,
    Agreement,
    BillPayment,
    Carried,
    Ceiling,
    Charge,
    Closing,
    ClosingBalance,
    Commitment,
    CommitmentMove,
    Entry,
    Fund,
    FundDay,
    Gift,
    GiftReturn,
    Inflow,
    LeftoverAnswer,
    Limit,
    LimitUse,
    Policy,
    Posting,
    PriceApproval,
    Scan,
    Share,
    Shortfall,
    StandingDecision,
    Unpaid,
    Use,
    Words,
)
from ledger.triggers import words
from tests import own_database
from tests.ledger import make
from tests.ledger.conftest import a_little_of_everything
from tests.ledger.make import oct

BOOKS = (
    Account, Advance, Agreement, BillPayment, Carried, Ceiling, Charge, Closing, ClosingBalance, Commitment,
    CommitmentMove, Entry, Fund, FundDay, Gift, GiftReturn, Inflow, LeftoverAnswer, Limit, LimitUse, Policy, Posting,
    PriceApproval, Scan, Share, Shortfall, StandingDecision, Unpaid, Use, Words,
)  # fmt: skip
APPENDED = (
    Advance, Carried, Charge, Closing, ClosingBalance, CommitmentMove, Entry, Gift, GiftReturn, Policy, Posting,
    PriceApproval, Share, Use,
)  # fmt: skip
CHANGED = {
    Entry: "legs",
    Closing: "through_on",
    ClosingBalance: "balance_minor",
    Charge: "asked_minor",
    Policy: "by",
    Carried: "by",
    PriceApproval: "by",
}
# A copy of a row meets the guard of its key, or another guard that comes before it.
REPLACED = (words.NEVER_REPLACED, words.BACK_TOO_MUCH, words.AGREEMENTS_OVERLAP, words.CLOSING_BACK)
sqlite_only = pytest.mark.skipif("connection.vendor != 'sqlite'", reason="a way that only SQLite has")
postgresql_only = pytest.mark.skipif("connection.vendor != 'postgresql'", reason="a way that only PostgreSQL has")


@pytest.fixture(autouse=True)
def as_it_was_set(db):
    """What an attack switches off on this connection is on again for the next test."""
    yield
    if connection.vendor == "sqlite":
        run("PRAGMA recursive_triggers = ON")


@pytest.fixture(scope="module")
def attacked(django_db_setup, django_db_blocker):
    with own_database.arranged(django_db_blocker, closed_books) as day:
        yield day


@pytest.fixture
def posted(attacked, db):
    return attacked


def closed_books():
    """Books with a little of everything, their first days closed and something carried over."""
    day = a_little_of_everything()
    carrying.carry(
        key=make.key("carried"),
        things=["goods"],
        through_on=oct(2),
        by=make.BOOKKEEPER,
        today=oct(20),
        at=make.at(oct(20)),
    )
    price_approvals.approve(
        key=make.key("approval"),
        approved_on=oct(5),
        from_on=oct(1),
        name="Odile Brandt",
        office="treasurer",
        by=make.BOOKKEEPER,
        today=oct(20),
        at=make.at(oct(20)),
    )
    make.closed(oct(2), today=oct(20))
    make.gift(make.general(), 1_00, oct(20), "after the closing")
    return day


def rows() -> dict[str, list]:
    """Return all that the books' tables hold, as the engine says it."""
    with connection.cursor() as cursor:
        return {model.__name__: _rows_of(cursor, model._meta) for model in BOOKS}


def _rows_of(cursor, table) -> list:
    cursor.execute(f'SELECT * FROM {table.db_table} ORDER BY "{table.pk.column}"')
    return cursor.fetchall()


def refused(attack, *sentences: str) -> None:
    """Run the attack; it must be refused with one of the sentences, and no row may have changed."""
    before = rows()

    with pytest.raises(IntegrityError) as refusal, transaction.atomic():
        attack()

    assert rows() == before
    assert not sentences or any(sentence in str(refusal.value) for sentence in sentences), str(refusal.value)
    assert audit().findings == ()


def run(sql: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql)


def columns(model) -> list[str]:
    return [f'"{field.column}"' for field in model._meta.concrete_fields]


def copied(model, **changed: str) -> str:
    """Return the columns and a SELECT that copies the table's last row with some columns changed."""
    names = columns(model)
    taken = ", ".join(changed.get(name.strip('"'), name) for name in names)
    table, key = model._meta.db_table, model._meta.pk.column
    return f"{table} ({', '.join(names)}) SELECT {taken} FROM {table} WHERE {key} = (SELECT max({key}) FROM {table})"


@pytest.mark.parametrize("model", APPENDED, ids=lambda model: model.__name__)
class TestPostedMeansPosted:
    def test_update_by_sql(self, posted, model):
        refused(
            lambda: run(f"UPDATE {model._meta.db_table} SET {columns(model)[1]} = {columns(model)[1]}"),
            words.NEVER_CHANGED,
        )

    def test_delete_by_sql(self, posted, model):
        refused(lambda: run(f"DELETE FROM {model._meta.db_table}"), words.NEVER_DELETED)

    def test_queryset_update(self, posted, model):
        field = CHANGED.get(model, "amount_minor")

        refused(lambda: model.objects.update(**{field: F(field)}), words.NEVER_CHANGED)

    def test_queryset_delete(self, posted, model):
        refused(lambda: model.objects.all()._raw_delete("default"), words.NEVER_DELETED)

    def test_save(self, posted, model):
        refused(lambda: model.objects.order_by("pk").last().save(), words.NEVER_CHANGED)

    def test_bulk_update(self, posted, model):
        field = CHANGED.get(model, "amount_minor")

        refused(lambda: model.objects.bulk_update(list(model.objects.all()), [field]), words.NEVER_CHANGED)

    def test_upsert(self, posted, model):
        key = model._meta.pk.column
        some = columns(model)[1]
        sql = f"INSERT INTO {copied(model)} ON CONFLICT ({key}) DO UPDATE SET {some} = excluded.{some}"

        refused(lambda: run(sql), words.NEVER_CHANGED, *REPLACED)

    @sqlite_only
    @pytest.mark.parametrize("recursive", ["ON", "OFF"])
    def test_replace_by_primary_key(self, posted, model, recursive):
        run(f"PRAGMA recursive_triggers = {recursive}")

        refused(lambda: run(f"INSERT OR REPLACE INTO {copied(model)}"), *REPLACED)

    @sqlite_only
    def test_update_or_replace(self, posted, model):
        run("PRAGMA recursive_triggers = OFF")
        key = model._meta.pk.column

        refused(lambda: run(f"UPDATE OR REPLACE {model._meta.db_table} SET {key} = {key} + 1"), words.NEVER_CHANGED)

    @sqlite_only
    def test_insert_or_ignore_cannot_silence_a_refusal(self, posted, model):
        refused(lambda: run(f"INSERT OR IGNORE INTO {copied(model)}"), *REPLACED)

    @postgresql_only
    def test_truncate(self, posted, model):
        connection.check_constraints()  # or the engine would refuse for what is still pending

        refused(lambda: run(f"TRUNCATE {model._meta.db_table} CASCADE"), words.NEVER_DELETED)


@sqlite_only
@pytest.mark.parametrize(
    ("model", "changed"),
    [
        (Entry, {"key": "'00000000000000000000000000000001'", "id": "id + 1"}),  # by digest
        (Entry, {"digest": "'d'", "id": "id + 1"}),  # by key
        (Posting, {"id": "NULL"}),  # by entry and leg
        (Charge, {"id": "NULL"}),  # by entry
        (Gift, {"id": "NULL"}),  # by entry
        (GiftReturn, {"id": "NULL"}),  # by entry
        (Limit, {"id": "NULL"}),  # by key
        (Ceiling, {"id": "NULL"}),  # by path
        (Commitment, {"id": "NULL"}),  # by key
        (StandingDecision, {"id": "NULL"}),  # by key
        (Share, {"id": "NULL", "posting_id": "(SELECT max(posting_id) FROM ledger_share)"}),  # by posting
        (Fund, {"id": "NULL", "key": "'00000000000000000000000000000001'"}),  # by name
        (Fund, {"id": "NULL", "name": "'Another'"}),  # by key
        (Agreement, {"id": "NULL"}),  # by key
        (Account, {}),  # by code
    ],
    ids=lambda value: value.__name__ if isinstance(value, type) else None,
)
def test_replace_by_every_other_key(posted, model, changed):
    run("PRAGMA recursive_triggers = OFF")

    refused(lambda: run(f"INSERT OR REPLACE INTO {copied(model, **changed)}"), *REPLACED)


def posting(**facts) -> Posting:
    number = facts.pop("entry_id", Entry.objects.order_by("-id").first().id + 1)
    defaults = {"leg": 1, "on": oct(20), "debit_id": "bank", "credit_id": "gifts", "amount_minor": 1}
    return Posting(entry_id=number, fund=facts.pop("fund", None) or make.general(), **{**defaults, **facts})


def entry(**facts) -> Entry:
    last = Entry.objects.order_by("-id").first()
    defaults = {
        "id": last.id + 1,
        "kind": "gift",
        "on": oct(20),
        "recorded_at": make.at(oct(20)),
        "by": 1,
        "key": make.key("attack"),
        "content": "c",
        "form": 1,
        "legs": 0,
        "previous": last.digest,
        "digest": "d",
    }
    return Entry(**{**defaults, **facts})


def both(*postings: Posting, **facts) -> None:
    Posting.objects.bulk_create(postings)
    Entry.objects.bulk_create([entry(legs=len(postings), **facts)])


def last() -> Entry:
    return Entry.objects.order_by("-id").first()


ATTACKS = {
    "a further leg in a finished entry": (
        lambda: posting(entry_id=last().id, leg=99).save(force_insert=True),
        words.ENTRY_FINISHED,
    ),
    "a further leg, many at once": (
        lambda: Posting.objects.bulk_create([posting(), posting(entry_id=last().id, leg=98)]),
        words.ENTRY_FINISHED,
    ),
    "a further share": (
        lambda: Share.objects.create(
            entry=last(), charge=Charge.objects.first(), payer="nobody", rank=6, reason="nobody_paid", amount_minor=1
        ),
        words.ENTRY_FINISHED,
    ),
    "a further use": (
        lambda: Use.objects.create(
            entry=last(),
            posting=Posting.objects.first(),
            inflow=Inflow.objects.filter(left_minor__gt=0).first(),
            amount_minor=1,
        ),
        words.ENTRY_FINISHED,
    ),
    "a skipped number": (lambda: entry(id=last().id + 2).save(force_insert=True), words.NUMBER_SKIPPED),
    "a number of the past": (
        lambda: entry(id=1, previous="").save(force_insert=True),
        words.NEVER_REPLACED,
        "duplicate",
    ),
    "a skipped number in the middle of many": (
        lambda: Entry.objects.bulk_create(
            [entry(), entry(id=last().id + 3, key=make.key("b"), digest="e", previous="d")]
        ),
        words.NUMBER_SKIPPED,
    ),
    "a broken chain": (lambda: entry(previous="0" * 64).save(force_insert=True), words.CHAIN_BROKEN),
    "a chain broken in the middle of many": (
        lambda: Entry.objects.bulk_create([entry(), entry(id=last().id + 2, key=make.key("b"), digest="e")]),
        words.CHAIN_BROKEN,
    ),
    "a missing leg": (lambda: entry(legs=1).save(force_insert=True), words.LEGS_MISSING),
    "a leg that is not counted": (
        lambda: (posting().save(force_insert=True), entry(legs=0).save(force_insert=True)),
        words.LEGS_MISSING,
    ),
    "legs numbered with a hole": (lambda: both(posting(leg=2)), words.LEGS_MISSING),
    "a leg of another date": (lambda: both(posting(on=oct(19))), words.LEGS_MISSING),
    "an amount of zero": (lambda: both(posting(amount_minor=0)), "posting_amount_positive"),
    "an amount below zero": (lambda: both(posting(amount_minor=-5)), "posting_amount_positive"),
    "twice the same account": (lambda: both(posting(credit_id="bank")), "posting_accounts_differ"),
    "an agreement left with money": (
        lambda: both(
            posting(fund=Fund.objects.get(kind="agreement"), debit_id="due_from_partners", credit_id="partner_payments")
        ),
        words.NOT_PASSED_ON,
    ),
    "what the clinic gives left with money": (
        lambda: both(posting(fund=Fund.objects.get(kind="given"))),
        words.NOT_PASSED_ON,
    ),
    "a restricted fund below zero": (
        lambda: both(
            posting(
                fund=Fund.objects.get(kind="animal"),
                debit_id="boarding",
                credit_id="due_to_practice",
                amount_minor=10**6,
            )
        ),
        words.RESTRICTED_BELOW_ZERO,
        "fund_day_restricted_not_below_zero",
    ),
    "more given back than was posted": (
        lambda: both(_back(Posting.objects.filter(debit="boarding", given_back=None).first(), 1)),
        words.BACK_TOO_MUCH,
    ),
    "given back twice": (
        lambda: both(_back(Posting.objects.filter(given_back__isnull=False).first(), 0)),
        words.BACK_TOO_MUCH,
    ),
    "given back to another fund": (
        lambda: both(
            _back(Posting.objects.filter(fund__kind="agreement", given_back=None).first(), -1, fund=make.general())
        ),
        words.BACK_TOO_MUCH,
    ),
    "a give-back given back": (
        lambda: both(_back(Posting.objects.filter(back_of__isnull=False).first(), 0)),
        words.BACK_TOO_MUCH,
    ),
    "what is left, set by hand": (lambda: Inflow.objects.update(left_minor=F("left_minor") - 1), words.KEPT_BY_TRIGGER),
    "what is left, filled up by hand": (
        lambda: Inflow.objects.update(left_minor=F("amount_minor")),
        words.KEPT_BY_TRIGGER,
    ),
    "an inflow's amount": (lambda: Inflow.objects.update(amount_minor=1), words.KEPT_BY_TRIGGER),
    "an inflow's fund": (lambda: Inflow.objects.update(fund=make.general()), words.KEPT_BY_TRIGGER),
    "an inflow deleted": (lambda: Inflow.objects.all()._raw_delete("default"), words.NEVER_DELETED),
    "an inflow that begins half used": (
        lambda: Inflow.objects.create(
            entry_id=last().id + 1,
            posting=Posting.objects.first(),
            fund=make.general(),
            received_on=oct(20),
            amount_minor=5,
            left_minor=4,
        ),
        words.KEPT_BY_TRIGGER,
    ),
    "more used than is left": (lambda: _use(10**6), words.USE_TOO_MUCH),
    "more given back than was used": (lambda: _use(-(10**6)), words.USE_TOO_MUCH),
    "money of one fund for another": (
        lambda: _use(1, posting=Posting.objects.filter(fund__kind="goods").first()),
        words.OTHER_FUND,
    ),
    "a closing balance, changed": (lambda: FundDay.objects.update(closing_minor=7), words.KEPT_BY_TRIGGER),
    "a closing balance, added": (
        lambda: FundDay.objects.create(fund=make.general(), on=oct(30), closing_minor=7, is_restricted=False),
        words.KEPT_BY_TRIGGER,
    ),
    "a closing balance, deleted": (
        lambda: FundDay.objects.all()._raw_delete("default"),
        words.KEPT_BY_TRIGGER,
        words.NEVER_DELETED,
    ),
    "what is unpaid, changed": (lambda: Unpaid.objects.update(amount_minor=7), words.KEPT_BY_TRIGGER),
    "what is unpaid, added": (
        lambda: Unpaid.objects.create(charge=Charge.objects.filter(unpaid=None).first(), amount_minor=7),
        words.KEPT_BY_TRIGGER,
    ),
    "what is unpaid, deleted": (
        lambda: Unpaid.objects.all()._raw_delete("default"),
        words.KEPT_BY_TRIGGER,
        words.NEVER_DELETED,
    ),
    "a restriction lifted": (
        lambda: Fund.objects.filter(kind="animal").update(is_restricted=False),
        words.PURPOSE_FIXED,
    ),
    "a fund turned to another purpose": (
        lambda: Fund.objects.filter(kind="animal").update(subject_key="z"),
        words.PURPOSE_FIXED,
    ),
    "a limit raised": (lambda: Limit.objects.update(most_minor=F("most_minor") + 1), words.LIMIT_FIXED),
    "a ceiling raised": (lambda: Ceiling.objects.update(most_minor=F("most_minor") + 1), words.LIMIT_FIXED),
    "a limit overdrawn": (lambda: LimitUse.objects.update(used_minor=F("most_minor") + 1), "limit_use_within_limit"),
    "a plan given to another animal": (lambda: Commitment.objects.update(subject_key="z"), words.COMMITMENT_FIXED),
    "more left of a plan than it was": (
        lambda: Commitment.objects.update(left_minor=F("amount_minor") + 1),
        "commitment_left_within_amount",
    ),
    "a standing decision turned": (lambda: StandingDecision.objects.update(take="agreement"), words.DECISION_FIXED),
    "a fund deleted": (lambda: Fund.objects.all()._raw_delete("default"), words.NEVER_DELETED),
    "an account of another kind": (lambda: Account.objects.update(kind="asset"), words.ACCOUNT_FIXED),
    "an agreement of another percent": (lambda: Agreement.objects.update(percent=50), words.TERMS_FIXED),
    "an agreement that overlaps another": (
        lambda: Agreement.objects.create(
            key=make.key("overlap"),
            party_key=make.BRINDLE_YARD,
            fund=Fund.objects.get(kind="agreement"),
            percent=10,
            from_on=oct(20),
            made_by=1,
        ),
        words.AGREEMENTS_OVERLAP,
    ),
    "a policy for a day that has passed": (
        lambda: Policy.objects.create(
            key=make.key("past"),
            code="general_ceiling",
            value="no",
            from_on=oct(19),
            set_on=oct(20),
            by=1,
            at=make.at(oct(20)),
            why="Too late.",
        ),
        "policy_begins_when_set_or_later",
    ),
    "a posting into a closed period": (lambda: both(posting(on=oct(2)), on=oct(2)), words.PERIOD_CLOSED),
    "an entry without legs in a closed period": (
        lambda: entry(on=oct(2)).save(force_insert=True),
        words.PERIOD_CLOSED,
    ),
    "one entry of many in a closed period": (
        lambda: Entry.objects.bulk_create(
            [entry(), entry(id=last().id + 2, key=make.key("b"), digest="e", previous="d", on=oct(2))]
        ),
        words.PERIOD_CLOSED,
    ),
    "a closing that ends where the last one did": (lambda: closing(oct(2)), words.CLOSING_BACK),
    "a closing through the day on which it is made": (lambda: closing(oct(20)), words.PERIOD_CLOSED),
    "a closing without its row": (lambda: entry(kind="closing").save(force_insert=True), words.CLOSING_APART),
    "a closing in an entry of another kind": (lambda: closing(oct(10), kind="gift"), words.CLOSING_APART),
    "a closing that joins a finished entry": (
        lambda: Closing.objects.create(entry=last(), through_on=oct(10)),
        words.ENTRY_FINISHED,
    ),
    "a reopening to another day than stood before": (
        lambda: closing(oct(2), reopens=Closing.objects.first(), kind="reopening"),
        words.REOPENED_LAST,
    ),
    "a reopening of nothing": (lambda: closing(None, kind="reopening"), "closing_names_its_last_day"),
    "a balance that a finished closing never kept": (
        lambda: ClosingBalance.objects.create(
            entry=Entry.objects.get(kind="closing"), fund=make.general(), account_id="gifts", balance_minor=-5
        ),
        words.ENTRY_FINISHED,
    ),
    "something carried before its month was over": (
        lambda: Carried.objects.create(
            key=make.key("early"),
            what="goods",
            through_on=oct(20),
            amount_minor=1,
            on=oct(20),
            by=1,
            at=make.at(oct(20)),
        ),
        "carried_when_the_month_is_over",
    ),
    "words rewritten": (lambda: Words.objects.update(line="Something else"), words.ONLY_ERASED),
    "words deleted": (lambda: Words.objects.all()._raw_delete("default"), words.NEVER_DELETED),
}


def closing(through_on, *, kind: str = "closing", **facts) -> None:
    Closing.objects.create(entry_id=last().id + 1, through_on=through_on, **facts)
    entry(kind=kind).save(force_insert=True)


def _back(of: Posting, more: int, **facts) -> Posting:
    return posting(
        **{
            "debit_id": of.credit_id,
            "credit_id": of.debit_id,
            "fund": of.fund,
            "amount_minor": of.amount_minor + more,
            "back_of": of,
            **facts,
        }
    )


def _use(amount_minor: int, **facts) -> None:
    inflow = Inflow.objects.filter(fund__kind="animal").first()
    defaults = {"posting": Posting.objects.filter(fund__kind="animal").first(), "inflow": inflow}
    Use.objects.create(entry_id=last().id + 1, amount_minor=amount_minor, **{**defaults, **facts})


@pytest.mark.parametrize("name", ATTACKS)
def test_is_refused(posted, name):
    attack, *sentences = ATTACKS[name]

    refused(attack, *sentences)


def test_legs_without_an_entry_do_not_outlive_the_transaction(posted):
    before = rows()

    with pytest.raises(IntegrityError), transaction.atomic():
        posting().save(force_insert=True)
        connection.check_constraints()

    assert rows() == before


def test_words_can_be_erased_and_leave_the_chain_whole(posted):
    Words.objects.update(salt="", subject="", line="", note="")

    assert audit().findings == ()


def test_back_dated_money_moves_every_later_closing(posted):
    before = dict(FundDay.objects.filter(fund=make.general()).values_list("on", "closing_minor"))

    make.gift(make.general(), 5_00, oct(7))

    later = {on: closing + (5_00 if on >= oct(7) else 0) for on, closing in before.items()}
    assert dict(FundDay.objects.filter(fund=make.general()).values_list("on", "closing_minor")) == {
        **later,
        oct(7): before[oct(1)] + 5_00,
    }


def test_a_missing_trigger_stops_posting_and_is_found(posted):
    before = rows()
    triggers.lift(connection, "ledger")
    try:
        with pytest.raises(triggers.GuardsMissing, match="Run manage.py migrate"):
            make.gift(make.general(), 1_00, oct(21))
        found = audit().findings
    finally:
        triggers.install(connection, "ledger")

    assert rows() == before
    assert any("not guarded" in sentence for sentence in found)
    assert triggers.verify(connection, "ledger") == []


@sqlite_only
def test_a_trigger_with_other_text_is_found(posted):
    run("DROP TRIGGER ledger_use_never_changed")
    run("CREATE TRIGGER ledger_use_never_changed BEFORE UPDATE ON ledger_use BEGIN SELECT 1; END")

    found = triggers.verify(connection, "ledger")
    triggers.install(connection, "ledger")

    assert found == ["The trigger ledger_use_never_changed on ledger_use is missing or not as it was written."]


FIRST_ROW, LAST_ROW = "WHERE id = (SELECT min(id) FROM {0})", "WHERE id = (SELECT max(id) FROM {0})"
TAMPERED = {
    "ledger_posting": (f"UPDATE {{0}} SET amount_minor = amount_minor + 1 {FIRST_ROW}", "digest differs"),
    "ledger_entry": ('UPDATE {0} SET "by" = 99 WHERE id = 2', "Entry 2 is not what it was"),
    "ledger_share": (f"UPDATE {{0}} SET amount_minor = amount_minor + 1 {FIRST_ROW}", "The shares of charge"),
    "ledger_inflow": ("UPDATE {0} SET left_minor = 0 WHERE left_minor > 0", "left, but"),
    "ledger_fundday": ("UPDATE {0} SET closing_minor = closing_minor + 1", "but its postings sum to"),
    "ledger_unpaid": ("UPDATE {0} SET amount_minor = amount_minor + 1", "Of charge"),
    "ledger_use": (f"DELETE FROM {{0}} {LAST_ROW}", "is traced to money"),
    "ledger_words": (
        "UPDATE {0} SET line = 'x' WHERE entry_id IN (SELECT max(entry_id) FROM {0})",
        "The words of entry",
    ),
    "ledger_closing": ("UPDATE {0} SET through_on = '2026-10-25'", "had been closed through"),
    "ledger_closingbalance": (
        "UPDATE {0} SET balance_minor = balance_minor + 1",
        "but what was posted by then sums to",
    ),
    "ledger_carried": ("UPDATE {0} SET at = '2026-11-01 12:00:00'", "after that day was closed"),
    "ledger_policy": ("UPDATE {0} SET code = 'general_ceiling', value = 'perhaps'", "neither yes nor no"),
    "ledger_gift": ("UPDATE {0} SET amount_minor = amount_minor + 1", "brought in"),
    "ledger_charge": ("UPDATE {0} SET cost_minor = cost_minor + 1 WHERE reverses_id IS NULL", "no mirror"),
}


@pytest.mark.parametrize("table", TAMPERED)
def test_what_somebody_changed_behind_the_triggers_is_found(posted, table):
    """The audit must be able to fail: each kind of row, changed with its triggers lifted, is named."""
    sql, sentence = TAMPERED[table]
    triggers.lift(connection, "ledger")
    run(sql.format(table))
    triggers.install(connection, "ledger")

    assert any(sentence in finding for finding in audit().findings), audit().findings


def test_restricted_money_is_never_spent_before_it_came(posted):
    """In order of date: a back-dated spending that later money would cover is refused."""
    fund = make.fund("Later money", "purpose", purpose={"surgery"})
    make.gift(fund, 9_00, oct(20))

    refused(
        lambda: both(
            posting(
                fund=fund,
                debit_id="boarding",
                credit_id="due_to_practice",
                amount_minor=5,
                on=oct(20) - timedelta(days=5),
            ),
            on=oct(20) - timedelta(days=5),
        ),
        words.RESTRICTED_BELOW_ZERO,
        "fund_day_restricted_not_below_zero",
    )
