"""The texts of letters: reading one with its preview, and writing it anew."""

from django.http import Http404, HttpRequest, HttpResponse

from clinic.actions import letter_texts as actions
from clinic.forms.letter_texts import LetterForm
from clinic.queries import letter_texts as queries
from clinic.views import present
from clinic.views.papers import READ
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import Role


@gate(read=READ, write={Role.MANAGER})
def letter_text(request: HttpRequest, letter: str) -> HttpResponse:
    facts = queries.letter_page(code=letter)
    if facts is None:
        raise Http404
    form = LetterForm(request.POST or None, code=letter, initial={"text": facts.text})
    if form.is_valid():
        said = form.cleaned_data
        if "show" in request.POST:
            facts = queries.letter_page(code=letter, draft=said["text"])
        elif act(form, lambda: actions.write(**said, code=letter, by=request.user, at=present.read().at)):
            return redirect(request, "clinic:letter_text", letter=letter)
    return page(
        request,
        "clinic/letter_texts/page.html",
        page=facts,
        form=form,
        may_write=request.user.may(Role.MANAGER),
        status=422 if form.errors else 200,
    )
