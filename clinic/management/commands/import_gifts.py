"""Records the gifts of a file whose source is known: a batch at a time, so that it can be cut off and begun again."""

import uuid
from functools import partial
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from tqdm import tqdm

from clinic.models import User
from clinic.views import present
from config.refusal import Refusal
from ledger.actions import gift_files as actions
from ledger.actions import waiting_gifts
from ledger.queries import gift_files as queries


class Command(BaseCommand):
    help = "Record the gifts of FILE. Its columns must have been said once on the page of its source."

    def add_arguments(self, parser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--source", required=True, help="the name of the source, as on the page of gift files")
        parser.add_argument("--by", required=True, help="the sign-in of who brings it")
        parser.add_argument("--keep-good", action="store_true", help="record the rows that stand; the others wait")

    def handle(self, *args, file: Path, source: str, by: str, keep_good: bool, **options) -> None:
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
            if found.wrong and not keep_good:
                raise actions.RowsCannotStand(len(found.wrong))
            with transaction.atomic(durable=True):
                waiting_gifts.keep(file=kept, wrong=found.wrong, by=person.pk, on=now.today)
            said = {"by": person.pk, "today": now.today, "at": now.at}
            shown = partial(tqdm, disable=not self.stderr.isatty())
            actions.record_in_batches(source=kept.source, rows=found.new, **said, shown=shown)
        except Refusal as refused:
            raise CommandError(str(refused)) from None
        self.stdout.write(f"{len(found.new)} recorded, {found.known} in the books already, {len(found.wrong)} wait.")
