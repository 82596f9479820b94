"""Recording a procedure, as planned or with its own minutes and supplies."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from clinic.actions import procedures as actions
from clinic.actions.care import Given
from clinic.forms.animals import ProcedureForm
from clinic.forms.procedures import TookForm
from clinic.models import Animal
from clinic.queries.procedure_template import procedure_template
from clinic.views import present
from config.access import gate
from config.acting import act
from config.render import page, redirect
from config.roles import Role

FACT = ("key", "on", "service", "quantity", "emergency", "late_source")
PROCEDURE = ("asa_class", "vet", "anesthesia_minutes")


@gate(write={Role.VET, Role.MANAGER})
def operate(request: HttpRequest, animal_id: int) -> HttpResponse:
    """Record a procedure: a priced fact with what makes it one; "adjust" shows its plan to be written over."""
    now, found = present.read(), get_object_or_404(Animal, pk=animal_id)
    form = ProcedureForm(request.POST or None, initial={"on": now.ward, "vet": request.user.pk})
    took = _took(request, form)

    def record() -> object:
        said = form.cleaned_data
        return actions.operate(
            given=Given(animal=found, **{name: said[name] for name in FACT}),
            said={name: said[name] for name in PROCEDURE},
            took=actions.Took(**took.took()) if took else None,
            room_minutes=took.cleaned_data["room_minutes"] if took else None,
            by=request.user,
            today=now.ward,
            at=now.at,
        )

    ready = form.is_valid() and "adjust" not in request.POST and (took is None or took.is_valid())
    if ready and act(form, record) is not None:
        return redirect(request, "clinic:animal", animal_id=found.pk)
    wrong = form.errors or (took and took.errors)
    facts = {"animal": found, "form": form, "took": took}
    return page(request, "clinic/animal/operate.html", status=422 if wrong else 200, **facts)


def _took(request: HttpRequest, form: ProcedureForm) -> TookForm | None:
    """Return the second form: unbound when it was asked for, bound when it comes back filled in."""
    if not {"adjust", "took"} & request.POST.keys() or not form.is_valid():
        return None
    template = procedure_template(service=form.cleaned_data["service"])
    same = request.POST.get("took") == str(template.service_id)
    return TookForm(request.POST if same and "adjust" not in request.POST else None, template=template)
