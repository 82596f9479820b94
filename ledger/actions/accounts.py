"""Sets the accountant's own codes beside the accounts (H2)."""

from collections.abc import Mapping

from django.db import transaction

from ledger import posting
from ledger.models import Account


@transaction.atomic
def set_codes(*, codes: Mapping[str, str]) -> int:
    """Set the accountant's code of each account named, and return how many changed. Several may share one."""
    posting.lock()
    changed = []
    for account in Account.objects.filter(code__in=list(codes)):
        wanted = codes[account.code].strip()
        if wanted != account.accountants_code:
            account.accountants_code = wanted
            changed.append(account)
    Account.objects.bulk_update(changed, ["accountants_code"])
    return len(changed)
