"""The traits that care has had lately, so that a fund can be opened for some of them."""

from ledger.models import Charge, Fund, traits

ALWAYS = ("boarding", "dressing", "medication", "procedure", "exam", "imaging", "laboratory", "emergency")
LATEST = 1_000  # charges


def traits_seen() -> tuple[str, ...]:
    """Return the codes of care of the latest charges and of all open funds, and the usual ones."""
    lines = {
        *Charge.objects.order_by("-id").values_list("traits", flat=True)[:LATEST],
        *Fund.objects.filter(closed_on=None).exclude(traits="").values_list("traits", flat=True),
    }
    return tuple(sorted({trait for line in lines for trait in traits.unpack(line)} | set(ALWAYS)))
