"""What the clinic's commands share: an example in the help, and one plain sentence for bad input."""

import sys
from typing import Any, NoReturn

from django.core.management.base import BaseCommand, CommandParser, DjangoHelpFormatter


class _KeepsLines(DjangoHelpFormatter):
    def _fill_text(self, text: str, width: int, indent: str) -> str:
        return text


class PlainCommand(BaseCommand):
    """A command whose help ends with `example`, and which answers bad input with one sentence and status 2."""

    example = ""

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        return super().create_parser(prog_name, subcommand, epilog=self.example, formatter_class=_KeepsLines, **kwargs)

    def bad_input(self, obstacle: object) -> NoReturn:
        self.stderr.write(str(obstacle))
        sys.exit(2)
