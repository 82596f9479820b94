"""Every address x every role: who may read it, who may send something there, and what a partner never sees."""

import uuid
from datetime import date

import pytest
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from clinic.models import Partner, User
from config.navigation import WAYS
from config.roles import Role
from tests.clinic import make

pytestmark = pytest.mark.django_db

W, V, B, M, P, R = Role.WARD, Role.VET, Role.BOOKKEEPER, Role.MANAGER, Role.PARTNER, Role.READER
EVERYBODY, CARE, CARE_READ, MONEY = {W, V, B, M, P, R}, {W, V, M}, {W, V, M, B, R}, {V, B, M, R}
SIGNED_OUT = {"clinic:sign_in", "clinic:invitation", "clinic:set_up", "clinic:tablet"}

# name: (who may read, who may write)
TABLE: dict[str, tuple[set[Role], set[Role]]] = {
    "clinic:home": (EVERYBODY, set()),
    "clinic:find": ({W, V, B, M, R}, set()),
    "clinic:sign_out": (EVERYBODY, EVERYBODY),
    "clinic:ward_sheet_today": (CARE_READ, CARE),
    "clinic:ward_sheet": (CARE_READ, CARE),
    "clinic:since": (CARE_READ, CARE),
    "clinic:worker": (CARE_READ, CARE),
    "clinic:offline": (CARE_READ, CARE),
    "clinic:missed_days": (CARE, CARE),
    "clinic:row": (CARE_READ, CARE),
    "clinic:tick": (CARE, CARE),
    "clinic:again": (CARE, CARE),
    "clinic:write": (CARE, CARE),
    "clinic:note": (CARE, CARE),
    "clinic:measured": (CARE, CARE),
    "clinic:undo": (CARE, CARE),
    "clinic:as_ordered": (CARE, CARE),
    "clinic:all_seen": (CARE, CARE),
    "clinic:animals": (CARE_READ, set()),
    "clinic:admit": (CARE, CARE),
    "clinic:animal_by_key": (MONEY, set()),
    "clinic:animal": (CARE_READ, set()),
    "clinic:move": (CARE, CARE),
    "clinic:change_level": (CARE, CARE),
    "clinic:correct": (CARE, CARE),
    "clinic:visit": (CARE, CARE),
    "clinic:discharge": (CARE, CARE),
    "clinic:readmit": (CARE, CARE),
    "clinic:bill_add": ({W, V, M, B}, {W, V, M, B}),
    "clinic:bills": (MONEY, set()),
    "clinic:bill": (MONEY, {B, M}),
    "clinic:bill_pay": ({B, M}, {B, M}),
    "clinic:bill_file": (MONEY, set()),
    "clinic:observe": (CARE, CARE),
    "clinic:wound_take_back": (CARE, CARE),
    "clinic:cage_card": (CARE_READ, set()),
    "clinic:cage_card_row": (CARE_READ, set()),
    "clinic:photos": (CARE_READ, CARE),
    "clinic:photo_file": (CARE_READ, set()),
    "clinic:photo_take_back": (CARE, CARE),
    "clinic:photo_consent": ({V, M, B}, {V, M, B}),
    "clinic:photo_withdraw": ({V, M, B}, {V, M, B}),
    "clinic:group_add": (CARE, CARE),
    "clinic:young": (CARE, CARE),
    "clinic:group_split": (CARE, CARE),
    "clinic:follow_ups": (CARE_READ, set()),
    "clinic:follow_up": (CARE, CARE),
    "clinic:follow_up_move": (CARE, CARE),
    "clinic:follow_up_add": (CARE, CARE),
    "clinic:usual_follow_ups": ({V, M}, {V, M}),
    "clinic:order": ({V, M}, {V, M}),
    "clinic:stop_order": ({V, M}, {V, M}),
    "clinic:operate": ({V, M}, {V, M}),
    "clinic:paths": (MONEY, set()),
    "clinic:earlier_path": ({V, M}, {V, M}),
    "clinic:finished_paths": (MONEY, set()),
    "clinic:path": (MONEY, set()),
    "clinic:medical_line": (MONEY, {V}),
    "clinic:path_plan": ({V, M}, {V, M}),
    "clinic:path_decide": ({V, M}, {V, M}),
    "clinic:path_result": ({V, M}, {V, M}),
    "clinic:path_review": ({V, M}, {V, M}),
    "clinic:review_drop": ({V, M}, {V, M}),
    "clinic:path_event": (CARE, CARE),
    "clinic:case_summary": (MONEY, set()),
    "clinic:case_summary_pdf": (MONEY, set()),
    "clinic:path_end": ({V, M}, {V, M}),
    "clinic:days_to_sign": (MONEY, set()),
    "clinic:sign_off": (MONEY, {V, M}),
    "clinic:signed": (MONEY, set()),
    "clinic:unpaid_care": (MONEY, set()),
    "clinic:unpaid_file": (MONEY, set()),
    "clinic:take_over": ({M}, {M}),
    "clinic:stand": ({M}, {M}),
    "clinic:stand_end": ({M}, {M}),
    "clinic:owner": ({V, M, B}, {V, M, B}),
    "clinic:approval": ({V, M, B}, {V, M, B}),
    "clinic:withdraw": ({M}, {M}),
    "clinic:approval_file": (MONEY, set()),
    "clinic:dispute": (MONEY, {M, B}),
    "clinic:your_animal": ({P}, {P}),
    "clinic:your_dispute": ({P}, {P}),
    "clinic:lift_ceiling": ({M}, {M}),
    "clinic:line": (MONEY, set()),
    "clinic:line_correct": ({V, M}, {V, M}),
    "clinic:who_paid": (MONEY, set()),
    "clinic:who_paid_pdf": (MONEY, set()),
    "clinic:who_paid_lines": (MONEY, set()),
    "clinic:partner_funds": (MONEY, set()),
    "clinic:partner": (MONEY, set()),
    "clinic:partner_add": ({B, M}, {B, M}),
    "clinic:your_animals": ({P}, set()),
    "clinic:places": (CARE_READ, set()),
    "clinic:ward_in_numbers": (CARE_READ, set()),
    "clinic:ward_tables": (CARE_READ, set()),
    "clinic:room_add": ({V, M}, {V, M}),
    "clinic:level_add": ({V, M}, {V, M}),
    "clinic:prices": (MONEY, set()),
    "clinic:price_file": (MONEY, set()),
    "clinic:copy_prices": ({B, M}, {B, M}),
    "clinic:price_import": ({B, M}, {B, M}),
    "clinic:supplies": (CARE_READ, set()),
    "clinic:supply": (CARE_READ, set()),
    "clinic:supply_add": ({B, M}, {B, M}),
    "clinic:supply_packs": ({B, M}, {B, M}),
    "clinic:supply_count": ({W, B, M}, {W, B, M}),
    "clinic:lot_add": ({B, M}, {B, M}),
    "clinic:lot_given": ({B, M}, {B, M}),
    "clinic:lot_take_back": ({B, M}, {B, M}),
    "clinic:staff": (MONEY, set()),
    "clinic:capacity": (MONEY, set()),
    "clinic:grade_add": ({B, M}, {B, M}),
    "clinic:grade": ({B, M}, {B, M}),
    "clinic:service_minutes": ({B, M}, {B, M}),
    "clinic:starting_list": ({B, M}, {B, M}),
    "clinic:price": ({B, M}, {B, M}),
    "clinic:animal_costs": (MONEY, set()),
    "clinic:appeal_open": (set(), {B, M}),
    "clinic:appeal": (MONEY, {B, M}),
    "clinic:appeal_pdf": (MONEY, set()),
    "clinic:grant_report": (MONEY, set()),
    "clinic:grant_report_pdf": (MONEY, set()),
    "clinic:grant_report_file": (MONEY, set()),
    "clinic:letterhead": (MONEY, {M}),
    "clinic:board_report": (MONEY, set()),
    "clinic:board_report_pdf": (MONEY, set()),
    "clinic:board_report_file": (MONEY, set()),
    "clinic:cost_report": (MONEY, set()),
    "clinic:cost_report_file": (MONEY, set()),
    "clinic:shared_costs": (MONEY, set()),
    "clinic:shared_year_add": ({B, M}, {B, M}),
    "clinic:supply_prices": (MONEY, set()),
    "clinic:supply_price": ({B, M}, {B, M}),
    "clinic:kit": ({B, M}, {B, M}),
    "clinic:service_add": ({B, M}, {B, M}),
    "clinic:papers": (MONEY, set()),
    "clinic:month_end": (MONEY, set()),
    "clinic:month_carry": ({B, M}, {B, M}),
    "clinic:month_close": ({B, M}, {B, M}),
    "clinic:month_reopen": ({B, M}, {B, M}),
    "clinic:closing": (MONEY, set()),
    "clinic:closing_pdf": (MONEY, set()),
    "clinic:impact_statement": (MONEY, set()),
    "clinic:impact_statement_pdf": (MONEY, set()),
    "clinic:statement_issue": ({B, M}, {B, M}),
    "clinic:issued_paper": (MONEY, {B, M}),
    "clinic:partner_statement": (MONEY, {B, M}),
    "clinic:partner_tables": (MONEY, set()),
    "clinic:your_month": ({P}, set()),
    "clinic:your_tables": ({P}, set()),
    "clinic:your_paper": ({P}, set()),
    "clinic:letter_text": (MONEY, {M}),
    "clinic:paper_runs": (MONEY, {B, M}),
    "clinic:paper_run": (MONEY, set()),
    "clinic:run_step": ({B, M}, {B, M}),
    "clinic:run_cancel": ({B, M}, {B, M}),
    "clinic:run_retry": ({B, M}, {B, M}),
    "clinic:run_mail": ({B, M}, {B, M}),
    "clinic:mail_decide": ({B, M}, {B, M}),
    "clinic:run_file": (MONEY, set()),
    "clinic:paper_cancel": ({B, M}, {B, M}),
    "clinic:papers_past_years": ({B, M, R}, {M}),
    "clinic:gift_receipt": (MONEY, {B, M}),
    "clinic:year_receipt": (MONEY, {B, M}),
    "clinic:issued_paper_file": (MONEY, set()),
    "clinic:people": ({M, R}, {M}),
    "clinic:person_add": ({M}, {M}),
    "clinic:person": ({M, R}, {M}),
    "clinic:person_invite": ({M}, {M}),
    "clinic:person_leave": ({M}, {M}),
    "clinic:person_come_back": ({M}, {M}),
    "clinic:tablets": ({M, R}, {M}),
    "clinic:tablet_revoke": ({M}, {M}),
    "clinic:tablet_code": (CARE, CARE),
    "clinic:backups": ({B, M, R}, set()),
    "clinic:parts": (EVERYBODY - {P}, set()),
    "ledger:funds": (MONEY, set()),
    "ledger:fund": (MONEY, set()),
    "ledger:fund_open": ({B, M}, {B, M}),
    "ledger:fund_close": ({B, M}, {B, M}),
    "ledger:opening": (MONEY, {B, M}),
    "ledger:gifts": (MONEY, set()),
    "ledger:gift": (MONEY, set()),
    "ledger:gift_files": (MONEY, {B, M}),
    "ledger:waiting_gifts": (MONEY, set()),
    "ledger:waiting_gift_record": ({B, M}, {B, M}),
    "ledger:waiting_gift_leave_out": ({B, M}, {B, M}),
    "ledger:gift_file": (MONEY, {B, M}),
    "ledger:gift_file_record": (set(), {B, M}),
    "ledger:gift_record": ({B, M}, {B, M}),
    "ledger:conditional_gifts": (MONEY, set()),
    "ledger:conditional_gift_record": ({B, M}, {B, M}),
    "ledger:conditional_gift_settle": ({B, M}, {B, M}),
    "ledger:goods_record": ({B, M}, {B, M}),
    "ledger:payout_record": ({B, M}, {B, M}),
    "ledger:in_and_out": (MONEY, set()),
    "ledger:spending_record": ({B, M}, {B, M}),
    "ledger:practice": (MONEY, {B, M}),
    "ledger:partner_money": (MONEY, {B, M}),
    "ledger:bank": (MONEY, {B, M}),
    "ledger:bank_files": (MONEY, {B, M}),
    "ledger:bank_file": (MONEY, {B, M}),
    "ledger:bank_file_take_in": (set(), {B, M}),
    "ledger:bank_account": (MONEY, set()),
    "ledger:bank_line": (MONEY, {B, M}),
    "ledger:bank_undo": ({B, M}, {B, M}),
    "ledger:bank_rule_end": (set(), {B, M}),
    "ledger:bank_reconciled": (MONEY, {B, M}),
    "ledger:bank_take_back": (set(), {B, M}),
    "ledger:bank_paper": (MONEY, set()),
    "ledger:transfer_record": ({B, M}, {B, M}),
    "ledger:leftovers": (MONEY, set()),
    "ledger:leftover": (MONEY, {B, M}),
    "ledger:leftover_answer": ({B, M}, {B, M}),
    "ledger:donors": (MONEY, set()),
    "ledger:donor": (MONEY, set()),
    "ledger:donor_add": ({B, M}, {B, M}),
    "ledger:donor_change": ({B, M}, {B, M}),
    "clinic:donor_data_file": ({B, M}, set()),
    "clinic:donor_erase": ({B, M}, {B, M}),
    "ledger:donor_twins": (MONEY, set()),
    "ledger:donor_merge": ({B, M}, {B, M}),
    "ledger:donors_apart": ({B, M}, {B, M}),
    "ledger:donors_ask_again": ({B, M}, {B, M}),
    "ledger:donor_merge_undo": ({B, M}, {B, M}),
    "ledger:agreements": (MONEY, {B, M}),
    "ledger:agreement_end": ({B, M}, {B, M}),
    "ledger:policies": (MONEY, set()),
    "ledger:policy": (MONEY, {M}),
    "ledger:budget": (MONEY, {B, M}),
    "ledger:budget_dates": ({B, M}, {B, M}),
    "ledger:budget_end": ({B, M}, {B, M}),
    "ledger:reports": (MONEY, set()),
    "ledger:roll_forward": (MONEY, set()),
    "ledger:trial_balance": (MONEY, set()),
    "ledger:activity": (MONEY, set()),
    "ledger:journal": (MONEY, set()),
    "ledger:functional_expenses": (MONEY, set()),
    "ledger:related_party": (MONEY, {B, M}),
    "ledger:report_file": (MONEY, set()),
    "ledger:report_paper": (MONEY, set()),
    "ledger:accounts": (MONEY, {B, M}),
    "ledger:entry": (MONEY, set()),
    "ledger:scan_add": ({B, M}, {B, M}),
    "ledger:scan": (MONEY, set()),
    "ledger:entry_take_back": ({B, M}, {B, M}),
    "ledger:gift_lines": (MONEY, set()),
    "ledger:gift_return": ({B, M}, {B, M}),
    "ledger:limits": (MONEY, {B, M}),
    "ledger:limit_end": ({B, M}, {B, M}),
}


def addresses() -> dict[str, URLPattern]:
    found: dict[str, URLPattern] = {}

    def walk(patterns, space: str) -> None:
        for pattern in patterns:
            if isinstance(pattern, URLResolver):
                walk(pattern.url_patterns, pattern.namespace or space)
            else:
                found[f"{space}:{pattern.name}"] = pattern

    walk(get_resolver().url_patterns, "")
    return found


def gate_of(pattern: URLPattern):
    return getattr(pattern.callback, "gate", None)


def test_the_table_knows_every_address():
    assert set(addresses()) - SIGNED_OUT - set(TABLE) == set()
    assert set(TABLE) - set(addresses()) == set()


@pytest.mark.parametrize("name", sorted(TABLE))
def test_each_gate_says_what_the_table_says(name):
    gate = gate_of(addresses()[name])

    assert gate is not None, "a view without a gate"
    assert (set(gate.read | gate.write), set(gate.write)) == (TABLE[name][0] | TABLE[name][1], TABLE[name][1])


def test_the_navigation_leads_nobody_to_a_closed_door():
    wrong = [
        (way.name, role)
        for way in WAYS
        for role in way.roles
        if not gate_of(addresses()[way.name]).opens("GET", {role})
    ]

    assert wrong == []


@pytest.fixture
def house():
    """A clinic with something at every address, and another partner's contact beside the first."""
    clinic = make.open_clinic()
    stay = clinic.admit("Bracken")
    clinic.give(stay.animal, clinic.dressing)
    clinic.sign()
    other = Partner.objects.create(name="Nine Lantern Cats", since_on=date(2026, 1, 1))
    make.person("Wim Other", P, partner=other)
    return clinic, stay


def address_of(name: str, pattern: URLPattern, house) -> str:
    clinic, stay = house
    words = {
        "on": date(2026, 10, 13),
        "animal_id": stay.animal_id,
        "partner_id": clinic.partner.pk,
        "service_id": clinic.dressing.pk,
        "person_id": clinic.reader.pk,
        "donor_id": 1,
        "other_id": 2,
        "merge_id": 1,
        "path_id": 1,
        "step_id": 1,
        "reading_id": 1,
        "point_id": 1,
        "change": 1,
        "fund_id": 1,
        "gift_id": 1,
        "dispute_id": 1,
        "approval_id": 1,
        "number": 1,
        "party_key": clinic.partner.key,
        "subject_key": stay.animal.key,
        "agreement_id": 1,
        "advance_id": 1,
        "report": "journal",
        "kind": "csv",
        "file_id": 1,
        "waiting_id": 1,
        "bank_file_id": 1,
        "bank_account_id": 1,
        "bank_line_id": 1,
        "rule_id": 1,
        "appeal_id": 1,
        "paper": "2026-0001",
        "year": 2026,
        "run_id": 1,
        "letter": "gift",
        "item_id": 1,
        "bill_id": 1,
        "follow_up_id": 1,
        "photo_id": 1,
        "group_id": 1,
        "consent_id": 1,
        "grade_id": 1,
        "supply_id": 1,
        "lot_id": 1,
        "scan_id": 1,
        "tablet_id": 1,
        "code": "general_ceiling",
        "token": uuid.uuid4().hex,
    }
    wanted = pattern.pattern.converters
    return reverse(name, kwargs={key: words[key] for key in wanted})


PEOPLE = {W: "pilar", V: "noor", M: "amos", B: "greta", R: "tove", P: "bea"}


@pytest.mark.parametrize("role", list(Role))
def test_every_address_opens_for_whom_the_table_says_and_for_nobody_else(role, house, client):
    wrong = []
    for name, pattern in addresses().items():
        if name in SIGNED_OUT or name == "clinic:sign_out":
            continue
        address = address_of(name, pattern, house)
        read, write = TABLE[name]
        for method, allowed in (("get", read | write), ("post", write)):
            client.force_login(User.objects.get(sign_in=PEOPLE[role]), "django.contrib.auth.backends.ModelBackend")
            status = getattr(client, method)(address).status_code
            closed = {404} if role == P else {403}
            if role in allowed and status in {401, 403}:
                wrong.append((name, method, "closed to", role.value, status))
            if role not in allowed and status not in closed:
                wrong.append((name, method, "open to", role.value, status))

    assert wrong == []


def test_the_signed_out_are_sent_to_the_door(house, client):
    for name, pattern in addresses().items():
        if name in SIGNED_OUT:
            continue
        for method in ("get", "post"):
            response = getattr(client, method)(address_of(name, pattern, house))
            assert response.status_code == 302, (name, method)
            assert response["Location"].startswith(reverse("clinic:sign_in")), (name, method)


def test_a_form_in_a_page_of_an_ended_session_leads_to_the_door(house, client):
    response = client.post(reverse("clinic:tick", args=[date(2026, 10, 14)]), headers={"HX-Request": "true"})

    assert response.status_code == 401
    assert response["HX-Redirect"].startswith(reverse("clinic:sign_in"))


def test_a_contact_reads_their_own_animals_and_no_others(house, client):
    for sign_in, sees in (("bea", True), ("wim", False)):
        client.force_login(User.objects.get(sign_in=sign_in), "django.contrib.auth.backends.ModelBackend")
        page = client.get(reverse("clinic:your_animals")).content.decode()

        assert ("Bracken" in page) is sees
        assert "Cost" not in page


def test_the_ward_never_sees_an_amount(house, client):
    """J0: ward: care facts, no amounts anywhere. The dressing's three figures are 9.85, 26.00 and 12.00."""
    clinic, stay = house
    client.force_login(clinic.nurse, "django.contrib.auth.backends.ModelBackend")
    for name in ("clinic:home", "clinic:ward_sheet", "clinic:animals", "clinic:animal", "clinic:find"):
        address = address_of(name, addresses()[name], house) + ("?q=12.00" if name == "clinic:find" else "")
        page = client.get(address).content.decode()

        assert not any(amount in page for amount in ("9.85", "26.00", "42.00", "24.00")), name
        assert "12.00" not in page.replace('value="12.00"', "").replace("“12.00”", ""), name
