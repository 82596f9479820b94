"""The traits that care has had so far, so that a fund can be opened for some of them."""

from ledger.models import Charge, Fund, traits

ALWAYS = ("boarding", "dressing", "medication", "procedure", "exam", "imaging", "laboratory", "emergency")


def traits_seen() -> tuple[str, ...]:
    """Return the codes of care under which charges and funds have come, and the usual ones."""
    lines = {
        *Charge.objects.values_list("traits", flat=True).distinct(),
        *Fund.objects.values_list("traits", flat=True),
    }
    return tuple(sorted({trait for line in lines for trait in traits.unpack(line)} | set(ALWAYS)))
