"""What cannot be: said in a sentence with status 422, nothing written, and what was typed still in the answer."""

import uuid
from datetime import date, timedelta
from html import unescape

import pytest
from django import forms
from django.apps import apps
from django.core.handlers.wsgi import WSGIRequest
from django.db import transaction
from django.urls import reverse

from clinic.models import CareItem, Observation, Order, Signing, User
from config.roles import Role
from tests import test_access
from tests.clinic import make
from tests.clinic.make import DAY, TODAY

pytestmark = pytest.mark.django_db

BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture
def clinic(settings):
    settings.AS_OF = str(TODAY)
    return make.open_clinic()


@pytest.fixture
def animal(clinic):
    return clinic.admit("Bracken", on=DAY).animal


@pytest.fixture
def order(clinic, animal):
    return clinic.order(animal, clinic.dressing, ["midday"], starts_on=DAY)


@pytest.fixture
def send(client, clinic):
    """Return a function that sends a form as `who`, through htmx or not, and says what came of it."""

    def send_one(name: str, /, *args: object, who: User | None = None, htmx: bool = False, **said: object) -> "Answer":
        client.force_login(who or clinic.nurse, BACKEND)
        before = everything()
        headers = {"HX-Request": "true"} if htmx else {}
        response = client.post(reverse(name, args=args), said, headers=headers)
        return Answer(response.status_code, unescape(response.content.decode()), everything() == before)

    return send_one


class Answer:
    def __init__(self, status: int, words: str, unchanged: bool) -> None:
        self.status, self.words, self.unchanged = status, words, unchanged

    def refuses(self, sentence: str, *kept: str) -> None:
        assert (self.status, self.unchanged) == (422, True), (self.status, self.words)
        assert sentence in self.words, self.words
        for typed in kept:
            assert typed in self.words, self.words


def everything() -> dict[str, int]:
    """Count the rows of both rooms, sessions aside."""
    return {
        model.__name__: model.objects.count()
        for room in ("clinic", "ledger")
        for model in apps.get_app_config(room).get_models()
    }


def facts(clinic, whose, /, **more) -> dict:
    said = {"key": uuid.uuid4(), "animal": whose.pk, "service": clinic.dressing.pk, "quantity": "1", "opened": "1"}
    return said | more


QUANTITIES = {
    "-2": "-2 is not a quantity. Write a number above 0 and at most 1,440.",
    "0": "0 is not a quantity. Write a number above 0 and at most 1,440.",
    "1440.5": "1440.5 is not a quantity.",
    "99999999999": "Write a number up to 1,440.",
    "1e99": "Write a number up to 1,440.",
    "0.0001": "Write at most three digits behind the point.",
    "NaN": "Write a number, such as 1 or 2.5.",
    "1,5": "Write a number, such as 1 or 2.5.",
    "two": "Write a number, such as 1 or 2.5.",
    "": "Write how many.",
}


@pytest.mark.parametrize("htmx", [False, True])
@pytest.mark.parametrize("typed", QUANTITIES)
def test_a_quantity_that_cannot_be(clinic, animal, send, typed, htmx):
    answer = send("clinic:write", TODAY, htmx=htmx, **facts(clinic, animal, quantity=typed, given_free="on"))

    answer.refuses(QUANTITIES[typed], f'value="{clinic.dressing.pk}" selected', "checked")
    assert not typed or f'value="{typed}"' in answer.words


def test_a_day_that_has_not_come(clinic, animal, order, send):
    tomorrow = TODAY + timedelta(days=1)
    sentence = "October 15 has not come yet"

    send("clinic:write", tomorrow, **facts(clinic, animal, quantity="3")).refuses(sentence, 'value="3"')
    send("clinic:note", tomorrow, key=uuid.uuid4(), animal=animal.pk, kind="note", words="Limps").refuses(
        sentence, "Limps"
    )
    send("clinic:tick", tomorrow, key=uuid.uuid4(), order=order.pk, round="midday").refuses(sentence)
    send("clinic:all_seen", tomorrow).refuses(sentence)
    send("clinic:sign_off", tomorrow, who=clinic.manager, key=uuid.uuid4(), digest="0" * 64).refuses(sentence)


def test_a_day_before_the_animal_came(clinic, animal, order, send):
    early = DAY - timedelta(days=3)
    sentence = "Bracken came on October 13, 2026."

    late = {"late_source": "paper", "given_by": "Teo"}
    answer = send("clinic:write", early, **facts(clinic, animal, quantity="3", **late))
    answer.refuses(sentence)
    send("clinic:tick", early, key=uuid.uuid4(), order=order.pk, round="midday", **late).refuses(sentence)


def test_a_day_before_the_house_opened(clinic, send):
    """Earlier stays are history: nothing of them is priced, ticked or signed off."""
    old = clinic.admit("Old", on=date(2026, 9, 20)).animal
    before = date(2026, 9, 30)

    late = {"late_source": "paper", "given_by": "Teo"}
    send("clinic:write", before, **facts(clinic, old, **late)).refuses("The house opened on October 1, 2026.")
    send("clinic:sign_off", before, who=clinic.manager, key=uuid.uuid4(), digest="0" * 64).refuses(
        "nothing left to sign off"
    )


def test_a_late_entry_without_its_source(clinic, animal, order, send):
    sentence = "Say where it comes from"

    send("clinic:tick", DAY, key=uuid.uuid4(), order=order.pk, round="midday").refuses(sentence)
    send("clinic:write", DAY, **facts(clinic, animal, quantity="4", given_by="Teo")).refuses(
        sentence, 'value="4"', 'value="Teo"'
    )


def test_a_refused_late_entry_keeps_its_source(clinic, animal, send):
    answer = send("clinic:write", DAY, **facts(clinic, animal, quantity="0", late_source="told", given_by="Teo"))

    answer.refuses("0 is not a quantity", 'value="told" selected', 'value="Teo"')


def test_something_unknown(clinic, animal, order, send):
    for unknown in ("999999", "9" * 30, "²", "x", ""):
        answer = send("clinic:write", TODAY, **facts(clinic, animal, service=unknown))
        assert (answer.status, answer.unchanged) == (422, True), unknown
        answer = send("clinic:write", TODAY, **facts(clinic, animal, animal=unknown))
        assert (answer.status, answer.unchanged) == (422, True), unknown
        answer = send("clinic:note", TODAY, key=uuid.uuid4(), animal=unknown, kind="note", words="Limps")
        assert (answer.status, answer.unchanged) == (422, True), unknown
        answer = send("clinic:tick", TODAY, key=uuid.uuid4(), order=unknown, round="midday")
        assert (answer.status, answer.unchanged) == (422, True), unknown
        answer = send("clinic:undo", TODAY, item=unknown)
        assert (answer.status, answer.unchanged) == (422, True), unknown
    for wrong in ({"round": "brunch"}, {"key": "no key"}, {"late_source": "hearsay"}):
        answer = send("clinic:tick", TODAY, **{"key": uuid.uuid4(), "order": order.pk, "round": "midday", **wrong})
        assert (answer.status, answer.unchanged) == (422, True), wrong
    answer = send("clinic:note", TODAY, key=uuid.uuid4(), animal=animal.pk, kind="pain", words="7")
    assert (answer.status, answer.unchanged) == (422, True), "pain has a scale, and this form has none"


MEASURES = {
    "weight": ({"weight": "-2"}, "Write a number above zero."),
    "weight without end": ({"weight": "99999999"}, "That is more than can be measured here."),
    "weight in words": ({"weight": "two"}, "Write a number, such as 61 or 61.5."),
    "pain below": ({"pain": "-1", "pain_of": "10"}, "Write a number zero or more."),
    "pain beyond its scale": ({"pain": "11", "pain_of": "10"}, "a pain score means nothing without its scale"),
    "pain without a scale": ({"pain": "3"}, "a pain score means nothing without its scale"),
    "nothing": ({}, "Nothing is filled in, so nothing was written down."),
}


@pytest.mark.parametrize("case", MEASURES)
def test_a_measure_that_cannot_be_keeps_what_was_typed_at_the_row_and_on_its_own_page(animal, send, case):
    typed, sentence = MEASURES[case]
    said = {"key": uuid.uuid4(), "animal": animal.pk, "opened": "1", "weighed": "with bandage", **typed}
    answer = send("clinic:measured", TODAY, htmx=True, **said)

    answer.refuses(sentence, "<option selected>with bandage", *[f'value="{words}"' for words in typed.values()])
    assert answer.words.count("data-first-error") == 1
    said |= {"on": str(TODAY), "method": "axes"}
    send("clinic:observe", animal.pk, **said).refuses(sentence, *[f'value="{words}"' for words in typed.values()])


def test_as_ordered_for_nobody_ticks_nothing(clinic, animal, order, send):
    answer = send("clinic:as_ordered", TODAY, animal="x")

    assert (answer.status, answer.unchanged) == (422, True)


def test_a_row_that_is_gone_answers_with_the_whole_sheet(clinic, animal, client):
    """The animal left meanwhile: the page is shown anew instead of a page inside a row."""
    client.force_login(clinic.nurse, BACKEND)
    said = facts(clinic, animal, animal=999999)
    response = client.post(reverse("clinic:write", args=[TODAY]), said, headers={"HX-Request": "true"})

    assert (response.status_code, response["HX-Retarget"]) == (422, "body")


def test_a_changed_form_sent_twice(clinic, animal, order, send):
    key = uuid.uuid4()
    sentence = "sent before with other content"
    said = {"key": key, "animal": animal.pk, "opened": "1"}
    assert send("clinic:write", TODAY, **said, service=clinic.dressing.pk, quantity="1").status == 303
    for changed in (
        {"service": clinic.dressing.pk, "quantity": "2"},
        {"service": clinic.tablets.pk, "quantity": "1"},
        {"service": clinic.dressing.pk, "quantity": "1", "given_free": "on"},
    ):
        send("clinic:write", TODAY, **said, **changed).refuses(sentence, f'value="{changed["quantity"]}"')
    assert send("clinic:write", TODAY, **said, service=clinic.dressing.pk, quantity="1.000").status == 303
    assert CareItem.objects.count() == 1

    said = {"key": uuid.uuid4(), "animal": animal.pk, "kind": "note"}
    assert send("clinic:note", TODAY, **said, words="Ate.").status == 303
    send("clinic:note", TODAY, **said, words="Ate nothing.").refuses(sentence, "Ate nothing.")
    assert send("clinic:note", TODAY, **said, words="Ate.").status == 303
    assert Observation.objects.count() == 1


ADMITTED = {
    "name": "Ballast", "species": "dog", "sex": "unknown", "partner": "", "partner_number": "BY-7", "chip": "",
    "about": "thin", "warning": "", "born_on": "", "admitted_on": str(TODAY), "place": "",
}  # fmt: skip
WRONG_ADMISSIONS = {
    "a chip of fourteen digits": ({"chip": "98512003417752"}, "15 digits, or 10 on an older chip; this one has 14"),
    "a chip with letters": ({"chip": "98512003417752X"}, "A chip number has digits only."),
    "a day ahead": ({"admitted_on": "2026-10-15"}, "October 15 has not come yet."),
    "no such day": ({"admitted_on": "2026-02-30"}, "Write a date, such as 2026-10-14."),
    "born after it came": ({"born_on": "2026-10-15"}, "It cannot be born after it came."),
    "no species": ({"species": " "}, "Species"),
    "an unknown partner": ({"partner": "999"}, "Rescue partner"),
    "a name too long": ({"name": "B" * 200}, "Name"),
}


@pytest.mark.parametrize("what", WRONG_ADMISSIONS)
def test_an_admission_that_cannot_be(clinic, send, what):
    wrong, sentence = WRONG_ADMISSIONS[what]
    said = ADMITTED | {"key": uuid.uuid4(), "level": clinic.standard.pk} | wrong

    typed = [f'value="{text}"' for name, text in wrong.items() if name != "partner"]
    send("clinic:admit", **said).refuses(sentence, 'value="BY-7"', *typed)


def test_an_admission_sent_twice(clinic, send):
    said = ADMITTED | {"key": uuid.uuid4(), "level": clinic.standard.pk}
    assert send("clinic:admit", **said).status == 303
    again = send("clinic:admit", **said)
    assert (again.status, again.unchanged) == (303, True)

    send("clinic:admit", **said | {"name": "Minnow"}).refuses("has already admitted Ballast", 'value="Minnow"')
    send("clinic:admit", **said | {"admitted_on": str(DAY)}).refuses("has already admitted Ballast", str(DAY))


def test_an_order_sent_twice(clinic, animal, send):
    said = {
        "key": uuid.uuid4(), "service": clinic.tablets.pk, "rounds": ["morning"], "every_days": "1",
        "words": "with food", "starts_on": str(TODAY), "until_on": "",
    }  # fmt: skip
    vet = clinic.vet
    assert send("clinic:order", animal.pk, who=vet, **said).status == 303
    again = send("clinic:order", animal.pk, who=vet, **said)
    assert (again.status, again.unchanged) == (303, True)

    send("clinic:order", animal.pk, who=vet, **said | {"every_days": "2"}).refuses(
        "already given another order", 'value="2"', 'value="with food"'
    )
    send("clinic:order", animal.pk, who=vet, **said | {"key": uuid.uuid4(), "until_on": str(DAY)}).refuses(
        "cannot end before it begins"
    )
    send("clinic:order", animal.pk, who=vet, **said | {"key": uuid.uuid4(), "rounds": []}).refuses("at least one round")
    send("clinic:order", animal.pk, who=vet, **said | {"key": uuid.uuid4(), "every_days": "0"}).refuses(
        "Every how many"
    )
    assert Order.objects.count() == 1


def test_a_discharge_that_cannot_be(clinic, animal, send):
    said = {"left_to": "foster", "why": "with Ida"}

    for on, sentence in (
        (TODAY + timedelta(days=1), "has not come yet"),
        (DAY - timedelta(days=1), "so cannot have left"),
    ):
        send("clinic:discharge", animal.pk, discharged_on=str(on), **said).refuses(sentence, str(on), "with Ida")
    assert send("clinic:discharge", animal.pk, discharged_on=str(TODAY), **said).status == 303
    again = send("clinic:discharge", animal.pk, discharged_on=str(TODAY), **said)
    assert (again.status, again.unchanged) == (303, True)
    send("clinic:discharge", animal.pk, discharged_on=str(DAY), **said).refuses("Nothing was changed")


def test_a_procedure_that_cannot_be(clinic, animal, send):
    said = {"key": uuid.uuid4(), "service": clinic.surgery.pk, "on": str(TODAY), "quantity": "1", "asa_class": "2"}
    vet = clinic.vet

    for wrong, sentence in (
        ({"quantity": "-1"}, "-1 is not a quantity"),
        ({"on": "2026-10-15"}, "has not come yet"),
        ({"on": "2026-10-01"}, "Bracken came on October 13"),
        ({"on": str(DAY)}, "Say where it comes from"),
        ({"asa_class": "6"}, "ASA class"),
        ({"anesthesia_minutes": "1441"}, "Anesthesia"),
    ):
        typed = [f'value="{text}"' for name, text in wrong.items() if name != "asa_class"]
        send("clinic:operate", animal.pk, who=vet, **said | wrong).refuses(sentence, *typed)


PRICE = {"starts_on": "2026-11-01", "cost": "10", "usual_fee": "26", "asked": "13"}
PRICE |= {"cost_from": "typed", "asked_from": "typed"}
WRONG_PRICES = {
    "below zero": ({"cost": "-1"}, "An amount is zero or more."),
    "asked above the usual fee": ({"asked": "26.01"}, "26.01 is asked, but a client would pay 26"),
    "no amount": ({"asked": "a lot"}, "Write an amount, such as 12 or 12.50."),
    "far too much": ({"usual_fee": "1" * 40}, "more than any amount here can be"),
    "no number at all": ({"cost": "NaN"}, "Write an amount"),
    "no day": ({"starts_on": "soon"}, "Write a date"),
    "a day that is signed off": ({"starts_on": str(DAY)}, "signed off with the earlier price"),
    "a day with another price": ({"starts_on": "2026-07-01"}, "already has a price from 2026-07-01"),
}


@pytest.mark.parametrize("what", WRONG_PRICES)
def test_a_price_that_cannot_be(clinic, animal, send, what):
    clinic.give(animal, clinic.dressing)
    clinic.sign()
    wrong, sentence = WRONG_PRICES[what]

    answer = send("clinic:price", clinic.dressing.pk, who=clinic.bookkeeper, **PRICE | wrong)

    answer.refuses(sentence, *(f'value="{typed}"' for typed in (PRICE | wrong).values()))


def test_a_second_signature(clinic, animal, send):
    said = {"key": uuid.uuid4(), "digest": clinic.preview().digest}
    assert send("clinic:sign_off", DAY, who=clinic.manager, **said).status == 303

    again = send("clinic:sign_off", DAY, who=clinic.manager, **said)
    other = send("clinic:sign_off", DAY, who=clinic.vet, **said | {"key": uuid.uuid4()})

    assert (again.status, again.unchanged) == (303, True)
    other.refuses("October 13 has nothing left to sign off. Nothing was posted twice.")
    assert Signing.objects.count() == 1


def test_a_signature_under_other_figures(clinic, animal, send):
    read = clinic.preview().digest
    clinic.give(animal, clinic.tablets)

    answer = send("clinic:sign_off", DAY, who=clinic.manager, key=uuid.uuid4(), digest=read)

    answer.refuses("Nothing was posted; the new figures are below.", "Tablets", clinic.preview().digest)
    send("clinic:sign_off", DAY, who=clinic.manager, key="no key", digest=read).refuses("to mend")
    send("clinic:sign_off", TODAY, who=clinic.manager, key=uuid.uuid4(), digest=read).refuses("after the evening")


# What no page should stumble over, whoever sends it and wherever it arrives.
ODD = (
    "", "x", "²", "-1", "0", "NaN", "Infinity", "1e400", "9" * 30, "9" * 5000, "0001-01-01", "9999-12-31", "2026-13-40",
    "null\x00byte", "' OR 1=1 --", "<b>", "\N{SNOWMAN}\N{PILE OF POO}", "care", "on", "note",
)  # fmt: skip
ASKED = (
    "q", "name", "from_on", "to_on", "open", "from", "show", "before", "after", "donor_id", "fund_id", "next", "kind",
)  # fmt: skip
SAID = (
    "key", "animal", "order", "round", "service", "quantity", "item", "kind", "words", "late_source", "digest", "name",
    "species", "sex", "partner", "chip", "admitted_on", "born_on", "level", "place", "discharged_on", "left_to", "on",
    "from_on", "rounds", "every_days", "starts_on", "until_on", "cost", "usual_fee", "asked", "code", "unit", "payer",
    "why", "donor_id", "fund_id", "amount_minor", "received_on", "way", "fee_minor", "percent", "of", "kinds", "email",
    "note", "address", "sign_in", "initials", "roles", "choice", "vet", "manager", "reason", "given_for", "leftover",
    "party", "subject", "until", "use_by", "places", "position", "minutes", "supply", "from_fund_id", "to_fund_id",
    "answer", "last_bill", "leftover_to", "clause_unseen", "is_anonymous", "second_fund_id", "second_minor",
    "original_amount", "original_currency", "apart", "apart_name", "condition", "outcome", "what", "sender", "file",
    "number", "care_on",
)  # fmt: skip


@pytest.fixture
def house(clinic):
    stay = clinic.admit("Bracken")
    clinic.give(stay.animal, clinic.dressing)
    clinic.sign()
    for role in (Role.VET, Role.MANAGER, Role.BOOKKEEPER, Role.READER):
        clinic.manager.roles_held.get_or_create(role=role)
    return clinic, stay


ADDRESSES = sorted(set(test_access.TABLE) - {"clinic:sign_out"})


class Looked:
    """Which words of its requests anybody looked at: what an address asks, what a form says."""

    def __init__(self, monkeypatch) -> None:
        self.at: set[str] = set()
        for words in ("GET", "POST"):
            self._watch(monkeypatch, words, vars(WSGIRequest)[words])

    def _watch(self, monkeypatch, words: str, read) -> None:
        def looked(request):
            self.at.add(words)
            return read.__get__(request, WSGIRequest)

        monkeypatch.setattr(WSGIRequest, words, property(looked))


def test_no_odd_words_bring_a_page_down(house, client, subtests, monkeypatch):
    """The client raises what a view lets through, so that a traceback is a failure here."""
    clinic, _ = house
    for name in ADDRESSES:
        before = transaction.savepoint()
        with subtests.test(name), monkeypatch.context() as watched:
            client.force_login(User.objects.get(pk=clinic.manager.pk), BACKEND)
            odd_words(client, test_access.address_of(name, test_access.addresses()[name], house), Looked(watched))
        transaction.savepoint_rollback(before)


def odd_words(client, address: str, looked: Looked) -> None:
    """Ask and say odd words at an address, of a page and of a part of it in turn.

    What looks at no words, neither for a page nor for a part, is asked again only when a form was taken meanwhile.
    """
    taken = False
    for number, odd in enumerate(ODD):
        headers = {"HX-Request": "true"} if number % 2 else {}
        if number < 2 or taken or "GET" in looked.at:
            assert client.get(address, dict.fromkeys(ASKED, odd), headers=headers).status_code < 500, odd
        if number < 2 or "POST" in looked.at:
            answer = client.post(address, dict.fromkeys(SAID, odd), headers=headers)
            assert answer.status_code < 500, odd
            taken = answer.status_code < 400
    assert client.get(address).status_code < 500


def test_every_page_sends_the_key_of_its_forms(house, client):
    """A form whose key the page leaves out could never be sent."""
    clinic, _ = house
    client.force_login(User.objects.get(pk=clinic.manager.pk), BACKEND)
    missing = []
    for name in ADDRESSES:
        answer = client.get(test_access.address_of(name, test_access.addresses()[name], house))
        if answer.status_code != 200 or not answer.context or "text/html" not in answer["Content-Type"]:
            continue
        html = answer.content.decode()
        contexts = answer.context if isinstance(answer.context, list) else [answer.context]
        for form in [one for context in contexts for one in context.flatten().values()]:
            if not isinstance(form, forms.BaseForm) or not any(_is_in(html, one) for one in form.visible_fields()):
                continue
            missing += [name for one in form.hidden_fields() if one.name == "key" and not _is_in(html, one)]

    assert sorted(set(missing)) == []


def _is_in(html: str, field: forms.BoundField) -> bool:
    return f'name="{field.html_name}"' in html


@pytest.mark.parametrize("on", ["0001-01-01", "0001-01-04", "2026-10-14", "9999-12-31"])
@pytest.mark.parametrize("name", ["clinic:ward_sheet", "clinic:sign_off", "clinic:signed"])
def test_no_day_brings_a_page_down(house, client, name, on):
    clinic, _ = house
    client.force_login(clinic.manager, BACKEND)

    assert client.get(reverse(name, args=[date.fromisoformat(on)])).status_code == 200


@pytest.mark.parametrize("address", ["/ward/2026-02-30/", "/animals/99999999999999999999999/", "/sign-off/0000-00-00/"])
def test_an_address_of_nothing_is_not_found(house, client, address):
    clinic, _ = house
    client.force_login(clinic.manager, BACKEND)

    assert client.get(address).status_code == 404


def test_an_address_with_a_nul_is_answered_in_words(house, client):
    clinic, _ = house
    client.force_login(clinic.manager, BACKEND)
    for address in ("/find/?q=%00", "/ledger/agreements/a%00b/"):
        answer = client.get(address)
        assert (answer.status_code, b"<h1" in answer.content) == (400, True)
