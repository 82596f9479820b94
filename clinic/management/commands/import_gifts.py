"""Records the gifts of a file whose source is known: a batch at a time, so that it can be cut off and begun again."""

import json
import uuid
from functools import partial
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from tqdm import tqdm

from clinic.models import User
from clinic.views import present
from clinic.views.present import Present
from config.refusal import Refusal
from ledger.actions import gift_files as actions
from ledger.actions import waiting_gifts
from ledger.queries import gift_files as queries


class Command(BaseCommand):
    help = (
        "Record the gifts of FILE, what went back of them, past gifts and opening balances. Its columns must have been "
        "said once on the page of its source. Example: import_gifts october.csv --source 'The giving site' --by greta"
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--source", required=True, help="the name of the source, as on the page of gift files")
        parser.add_argument("--by", required=True, help="the sign-in of who brings it")
        parser.add_argument("--keep-good", action="store_true", help="record the rows that stand; the others wait")
        parser.add_argument("--check", action="store_true", help="say what it would do; no gift is recorded")
        parser.add_argument("--json", action="store_true", help="report as JSON")

    def handle(self, *args, file: Path, source: str, by: str, keep_good: bool, check: bool, **options) -> None:
        now, person = present.read(), User.objects.filter(sign_in=by).first()
        if person is None:
            raise CommandError(f"Nobody signs in as {by}. Nothing was read.")
        try:
            content = file.read_bytes()
        except OSError as problem:
            raise CommandError(f"{file} cannot be read: {problem.strerror}. Nothing was recorded.") from None
        try:
            with transaction.atomic(durable=True):
                kept = actions.bring(
                    key=uuid.uuid4(), source=source, content=content, name=file.name, by=person.pk, at=now.at
                )
            found = queries.preview(file=kept, table=queries.table_of(kept), today=now.today)
            if found.obstacle:
                raise CommandError(f"{found.obstacle} Do so on the page of gift files. Nothing was recorded.")
            for one in found.wrong:
                self.stderr.write(f"line {one.line}: {one.sentence}")
            if not check:
                self._record(kept, found, keep_good, person.pk, now)
        except Refusal as refused:
            raise CommandError(str(refused)) from None
        self.stdout.write(_json(found) if options["json"] else _sentence(found, check))

    def _record(self, kept, found: queries.Preview, keep_good: bool, by: int, now: Present) -> None:
        if found.wrong and not keep_good:
            raise actions.RowsCannotStand(len(found.wrong))
        with transaction.atomic(durable=True):
            waiting_gifts.keep(file=kept, wrong=found.wrong, by=by, on=now.today)
        shown = partial(tqdm, disable=not self.stderr.isatty())
        said = {"by": by, "today": now.today, "at": now.at}
        actions.record_in_batches(source=kept.source, rows=found.new, **said, shown=shown)


def _sentence(found: queries.Preview, check: bool) -> str:
    words = ("to record", "would wait") if check else ("recorded", "wait")
    return f"{len(found.new)} {words[0]}, {found.known} in the books already, {len(found.wrong)} {words[1]}."


def _json(found: queries.Preview) -> str:
    """Tell how many rows became what; amounts in minor units."""
    return json.dumps(
        {
            "recorded": len(found.new),
            "already_there": found.known,
            "wait": len(found.wrong),
            "gifts": len(found.gifts),
            "went_back": len(found.back),
            "past": len(found.past),
            "opening_balances": len(found.opening),
            "new_donors": found.new_donors,
            "gross_minor": found.gross_minor,
            "fee_minor": found.fee_minor,
            "net_minor": found.net_minor,
        }
    )
