"""Destroys the files of papers whose donor was erased and whose years are over; says first what it would do."""

from __future__ import annotations

import json
import sys
from typing import Any

from django.core.management.base import CommandParser

from clinic.actions.destroy_papers import destroy_papers, remove_files
from clinic.management.plain import PlainCommand
from clinic.models import User
from clinic.queries.papers_past_years import PastYears, past_years
from config import clock, home
from config.refusal import Refusal
from config.roles import Role


class Command(PlainCommand):
    help = "Destroy the files of issued papers whose donor was erased and whose years are over."
    example = """
example:
  ./run manage destroy_papers --check
  ./run manage destroy_papers --by amos --why "kept as long as the law asks"

Each paper's number, figures and SHA-256 stay; the file goes. How long a paper is kept is a policy of the house; what
the law asks for differs: ask a local adviser. Backups made before hold the files until they are removed. Exit status:
0, 1 where it was refused, 2 where nobody may do it.
"""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--by", default="", metavar="SIGN-IN", help="the manager who does it")
        parser.add_argument("--why", default="", help="in a few words, without a name; it is kept")
        parser.add_argument("--check", action="store_true", help="say what would be destroyed, and change nothing")
        parser.add_argument("--json", action="store_true", help="print the papers as JSON")

    def handle(self, *, by: str, why: str, check: bool, **options: Any) -> None:
        today = clock.today(home.zone())
        papers = past_years(today=today)
        if not check:
            self._destroy(papers, by=by, why=why, today=today)
        self.stdout.write(_as_json(papers) if options["json"] else _as_text(papers, check))

    def _destroy(self, papers: tuple[PastYears, ...], *, by: str, why: str, today) -> None:
        person = User.objects.filter(sign_in=by, is_active=True).first()
        if person is None or not person.may(Role.MANAGER):
            self.bad_input("A manager destroys papers: say who with --by. Nothing was destroyed.")
        if not papers:
            return remove_files()
        numbers = [paper.number for paper in papers]
        try:
            destroy_papers(numbers=numbers, why=why, by=person, today=today, at=clock.now())
        except Refusal as refused:
            self.stderr.write(str(refused))
            sys.exit(1)


def _as_json(papers: tuple[PastYears, ...]) -> str:
    rows = [{"number": one.number, "kind": one.kind_words, "kept_through": str(one.kept_through)} for one in papers]
    return json.dumps({"papers": rows}, indent=1)


def _as_text(papers: tuple[PastYears, ...], check: bool) -> str:
    if not papers:
        return "No paper of an erased donor is past its years."
    told = "\n".join(f"{one.number}  {one.kind_words}, kept through {one.kept_through}" for one in papers)
    return f"{told}\n{'Would destroy' if check else 'Destroyed'} the files of {len(papers)}."
