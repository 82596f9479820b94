"""A backup is audited before it counts; put back elsewhere it is the same books; nothing is overwritten unasked."""

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path
from urllib.parse import quote

import pytest
from django.core.management import call_command
from django.db import connection

from clinic.models import House
from clinic.queries import backups as query
from clinic.queries import home
from config import triggers, upgrade
from config.backups import making, media, postgresql, restoring, sets, sqlite
from config.backups.sets import MANIFEST, ManifestMissing, PartDamaged
from config.roles import Role
from ledger.models import Entry
from ledger.queries.unpaid_care import unpaid_animals
from tests.clinic import make as clinic_make
from tests.crash.test_killed import begun, ward
from tests.ledger import make

__all__ = ["ward"]  # a fixture of the crash tests
pytestmark = pytest.mark.django_db(transaction=True)

ROOT = Path(__file__).resolve().parent.parent
AT = datetime(2026, 10, 14, 3, tzinfo=timezone.utc)  # noqa: UP017


@pytest.fixture
def place(tmp_path, settings):
    """Folders of this test's own for backups and media, one file among the media; commands find the test's database."""
    settings.BACKUP_ROOT, settings.MEDIA_ROOT = tmp_path / "backups", tmp_path / "media"
    (tmp_path / "media" / "scans").mkdir(parents=True)
    (tmp_path / "media" / "scans" / "invoice.pdf").write_bytes(b"a scan")
    return tmp_path


@pytest.fixture
def books(place):
    make.books()
    make.gift(make.general(), 30_00, make.oct(2), "G")


@pytest.fixture
def unpaid(place):
    """A night of which there was money for a part only."""
    clinic = clinic_make.open_clinic(percent=None)
    clinic.gift(make.general(), 14_00)
    clinic.admit("Bracken")
    clinic.sign()


@contextmanager
def elsewhere(place: Path):
    """Yield the environment of an empty place: another database of the same engine, another folder of media."""
    facts = {**os.environ, "MEDIA_ROOT": str(place / "elsewhere" / "media")}
    if connection.vendor == "sqlite":
        (place / "elsewhere").mkdir()
        yield {**facts, "DATABASE_URL": f"sqlite:///{quote(str(place / 'elsewhere' / 'books.sqlite3'))}"}
        return
    name = f"elsewhere_{os.getpid()}"
    postgresql._create(name)
    try:
        yield {**facts, "DATABASE_URL": postgresql.address(name)}
    finally:
        postgresql._statement(f"DROP DATABASE IF EXISTS {name}")


def manage(environment: dict, *words: object) -> subprocess.CompletedProcess:
    return subprocess.run(
        [sys.executable, "manage.py", *map(str, words)],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )


def asked_elsewhere(environment: dict, statement: str, first: str = "") -> list:
    code = (
        f"import django; django.setup(); from django.db import connection; import json; {first}"
        f" c = connection.cursor(); c.execute({statement!r}); print(json.dumps([str(r[0]) for r in c.fetchall()]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env={**environment, "DJANGO_SETTINGS_MODULE": "config.settings"},
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(done.stdout)


def test_a_backup_says_how_far_it_reaches_and_was_audited(books, place):
    made = making.make(root=place / "backups", at=AT)

    last = Entry.objects.get()
    held = made.manifest
    assert (held.last_entry, held.last_digest, held.media_files) == (1, last.digest, 1)
    assert held.checks > 30
    assert sets.whole(made.folder) == made == sets.backups(place / "backups")[0]
    assert {path.name for path in made.folder.iterdir()} == {MANIFEST, media.PART, making.engine().PART}
    assert made.folder.stat().st_mode & 0o077 == 0


def test_a_backup_made_while_others_post_is_whole_elsewhere(ward, place):
    """Restored in another place, the audit is clean and what was acknowledged before the backup is there."""
    working = begun()
    assert working.stdout.readline() == "ready\n", working.stderr.read()
    said: list[list[str]] = []
    while sum(line[0] == "signed" for line in said) < 3:
        said.append(working.stdout.readline().split())
    made = making.make(root=place / "backups", at=AT)
    working.kill()
    working.communicate()

    with elsewhere(place) as environment:
        done = manage(environment, "restore", made.folder)
        assert done.returncode == 0, done.stderr
        assert f"Restored up to entry {made.manifest.last_entry}; every promise is kept." in done.stdout
        signed = {key.replace("-", "") for key in asked_elsewhere(environment, "SELECT key FROM clinic_signing")}
        entries = asked_elsewhere(environment, "SELECT max(id) FROM ledger_entry")
    assert {line[1].replace("-", "") for line in said if line[0] == "signed"} <= signed
    assert entries == [str(made.manifest.last_entry)]
    assert (place / "elsewhere" / "media" / "scans" / "invoice.pdf").read_bytes() == b"a scan"


def test_nothing_is_overwritten_unasked_and_what_stood_there_is_kept(books, place):
    made = making.make(root=place / "backups", at=AT)
    with elsewhere(place) as environment:
        assert manage(environment, "restore", made.folder).returncode == 0
        refused = manage(environment, "restore", made.folder)
        assert (refused.returncode, refused.stdout) == (1, "")
        assert "is not empty. Nothing was changed. Say --replace" in refused.stderr
        (place / "elsewhere" / "media" / "later.pdf").write_bytes(b"later")

        replaced = manage(environment, "restore", made.folder, "--replace")

        assert replaced.returncode == 0, replaced.stderr
        kept = [line.removeprefix("What stood there is kept at ").rstrip(".") for line in replaced.stdout.splitlines()]
        assert len(kept) == 3
        assert (Path(kept[1]) / "later.pdf").read_bytes() == b"later"
        assert not (place / "elsewhere" / "media" / "later.pdf").exists()
        if connection.vendor == "sqlite":
            old = {**environment, "DATABASE_URL": f"sqlite:///{quote(kept[0])}"}
        else:
            old = {**environment, "DATABASE_URL": postgresql.address(kept[0])}
        assert asked_elsewhere(old, "SELECT count(*) FROM ledger_entry") == ["1"]
        if connection.vendor == "postgresql":
            postgresql._statement(f"DROP DATABASE {postgresql._quoted(kept[0])}")


@pytest.mark.skipif("connection.vendor != 'sqlite'", reason="files beside the database are SQLite's")
def test_what_a_lost_database_left_beside_it_is_not_played_into_the_new_one(books, place):
    made = making.make(root=place / "backups", at=AT)
    with elsewhere(place) as environment:
        stale = [place / "elsewhere" / f"books.sqlite3{suffix}" for suffix in ("-wal", "-shm", "-journal")]
        for path in stale:
            path.write_bytes(b"stale")

        done = manage(environment, "restore", made.folder)

        assert done.returncode == 0, done.stderr
        assert not any(path.exists() and path.read_bytes() == b"stale" for path in stale)


@pytest.mark.skipif("connection.vendor != 'sqlite'", reason="it would leave a second test database on the server")
def test_the_rooms_are_told_so_that_what_outlives_every_copy_is_done_again(books, place):
    made = making.make(root=place / "backups", at=AT)
    make.gift(make.general(), 5_00, make.oct(3), "after the backup")
    told: list[int] = []

    def repeat(**said) -> None:
        told.append(Entry.objects.count())

    restoring.put_back.connect(repeat)
    try:
        call_command("restore", str(made.folder), "--replace", verbosity=0)
    finally:
        restoring.put_back.disconnect(repeat)

    assert told == [1]
    for kept in sqlite.database().parent.glob(f"{sqlite.database().name}.replaced-*"):
        kept.unlink()


@pytest.mark.skipif("connection.vendor != 'sqlite'", reason="on PostgreSQL the server refuses to rename it")
def test_a_database_in_use_is_not_replaced(books, place, monkeypatch):
    monkeypatch.setattr(sqlite, "BUSY_SECONDS", 0.1)
    made = making.make(root=place / "backups", at=AT)
    with closing(sqlite3.connect(connection.settings_dict["NAME"], isolation_level=None)) as writer:
        writer.execute("BEGIN IMMEDIATE")

        with pytest.raises(sqlite.DatabaseInUse, match="Stop the server"):
            restoring.restore(folder=made.folder, replace=True, at=AT)

    assert Entry.objects.count() == 1
    assert (place / "media" / "scans" / "invoice.pdf").exists()


@pytest.mark.parametrize("damage", ["changed", "cut", "missing", "no manifest", "half a manifest"])
def test_a_damaged_backup_is_refused_by_name(books, place, damage):
    made = making.make(root=place / "backups", at=AT)
    part = made.folder / making.engine().PART
    if damage == "changed":
        content = bytearray(part.read_bytes())
        content[len(content) // 2] ^= 1
        part.write_bytes(content)
    elif damage == "cut":
        part.write_bytes(part.read_bytes()[:-1])
    elif damage == "missing":
        part.unlink()
    else:
        manifest = made.folder / MANIFEST
        manifest.write_text(manifest.read_text()[:40]) if damage == "half a manifest" else manifest.unlink()
    refusal, sentence = (
        (ManifestMissing, "is no backup") if "manifest" in damage else (PartDamaged, "is not what it was")
    )

    with pytest.raises(refusal, match=sentence):
        restoring.restore(folder=made.folder, replace=True, at=AT)

    assert Entry.objects.count() == 1


@pytest.mark.parametrize(
    ("said", "refusal"),
    [
        ({"engine": "another"}, restoring.EngineDiffers),
        ({"migrations": {"ledger": "9999_later"}}, restoring.VersionAhead),
    ],
)
def test_a_backup_that_does_not_fit_is_refused(books, place, said, refusal):
    made = making.make(root=place / "backups", at=AT)
    manifest = made.folder / MANIFEST
    manifest.write_text(json.dumps({**json.loads(manifest.read_text()), **said}))

    with pytest.raises(refusal):
        restoring.check(made.folder)


def test_a_copy_in_which_something_is_off_does_not_count(books, place):
    triggers.lift(connection, "ledger")
    with connection.cursor() as cursor:
        cursor.execute("UPDATE ledger_posting SET amount_minor = amount_minor + 1")
    triggers.install(connection, "ledger")

    with pytest.raises(making.CopyUnsound, match="it does not count"):
        making.make(root=place / "backups", at=AT)

    assert list((place / "backups").iterdir()) == []


def test_the_command_makes_one_and_removes_the_oldest(books, place, capsys):
    made = making.make(root=place / "backups", at=AT.replace(day=13))
    for day in (11, 12):
        folder = shutil.copytree(made.folder, place / "backups" / f"2026-10-{day}-030000")
        sets.write(folder, replace(made.manifest, made_at=AT.replace(day=day)))

    call_command("backup", "--to", str(place / "backups"), "--keep", "2", "--json")

    said = json.loads(capsys.readouterr().out)
    assert (said["last_entry"], said["check_number"]) == (1, Entry.objects.get().digest)
    left = sets.backups(place / "backups")
    assert [str(left[0].folder), left[1].folder.name] == [said["folder"], "2026-10-13-030000"]
    assert len(left) == 2


@pytest.fixture(scope="module")
def first_version():
    """Where SQLite's file is kept as `older` first made it: undoing every migration takes long."""
    with closing(sqlite3.connect(":memory:")) as kept:
        yield kept


@pytest.fixture
def older(unpaid, monkeypatch, first_version):
    """The books as the first version of the program left them."""
    if first_version.execute("SELECT count(*) FROM sqlite_master").fetchone() != (0,):
        first_version.backup(connection.connection)
    else:
        with monkeypatch.context() as patched:
            patched.setattr(triggers, "install", lambda *words: None)  # today's guards do not fit yesterday's tables
            call_command("migrate", "ledger", "0001", verbosity=0)
        if connection.vendor == "sqlite":
            connection.connection.backup(first_version)
    assert upgrade.pending()
    yield
    if connection.vendor == "postgresql":  # SQLite gets its whole file back
        call_command("migrate", verbosity=0)


def test_an_upgrade_backs_up_rehearses_migrates_and_audits(older, place):
    asked: list[str] = []

    copy = upgrade.upgrade(root=place / "backups", at=AT, audit=lambda: asked.append("audit") or [])

    assert copy.folder.name == "before-upgrade-2026-10-14-030000"
    assert copy.manifest.migrations["ledger"] == "0001_initial"
    assert [animal.amount_minor for animal in unpaid_animals()] == [10_00]
    assert asked == ["audit"]
    assert not upgrade.pending()
    assert triggers.verify(connection) == []
    assert upgrade.upgrade(root=place / "backups", at=AT, audit=list) is None


def test_an_upgrade_whose_rehearsal_fails_leaves_the_database_as_it_was(older, place, monkeypatch):
    managed = making._managed
    monkeypatch.setattr(making, "_managed", lambda url, *words: managed(url, "no-such-command"))

    with pytest.raises(making.CopyUnsound):
        upgrade.upgrade(root=place / "backups", at=AT, audit=list)

    assert upgrade.pending()
    assert list((place / "backups").iterdir()) == []


def test_an_upgrade_after_which_something_is_off_says_where_the_copy_is(older, place):
    with pytest.raises(upgrade.NotClean, match="restore .*before-upgrade-2026-10-14-030000 --replace"):
        upgrade.upgrade(root=place / "backups", at=AT, audit=lambda: ["Entry 1 is not what it was."])


class TestTheFirstPage:
    """The manager and the bookkeeper are told when the last good backup is older than a day."""

    @pytest.fixture
    def clinic(self, place, settings):
        settings.AS_OF = ""
        clinic = clinic_make.open_clinic()
        clinic.gift(make.general(), 30_00)
        return clinic

    def need(self, moment: datetime, role: Role = Role.MANAGER):
        found = home.home(on=moment.date(), moment=moment, house=House.objects.get(), roles=frozenset({role}))
        return next((need.detail for need in found.needs if need.words == "backup to make"), None)

    def first(self) -> datetime:
        return Entry.objects.order_by("id").first().recorded_at

    def test_says_so_a_day_after_the_first_entry(self, clinic):
        assert self.need(self.first() + timedelta(hours=24)) is None
        assert self.need(self.first() + timedelta(hours=25)).startswith("There has never been one")
        assert self.need(self.first() + timedelta(hours=25), Role.BOOKKEEPER)
        assert self.need(self.first() + timedelta(hours=25), Role.VET) is None

    def test_and_a_day_after_the_last_good_one(self, clinic, place):
        later = self.first() + timedelta(days=9)
        making.make(root=place / "backups", at=later)
        (place / "backups" / "broken").mkdir()

        assert self.need(later + timedelta(hours=24)) is None
        assert self.need(later + timedelta(days=2, hours=1)).startswith("The last one is 2 days old")

    def test_an_empty_house_and_a_clock_held_still_are_left_in_peace(self, place, settings):
        settings.AS_OF = ""
        clinic_make.open_clinic()
        assert query.overdue(moment=AT + timedelta(days=900)) is None
        make.gift(make.general(), 30_00, make.oct(2), "G")
        assert query.overdue(moment=AT + timedelta(days=900)) is not None
        settings.AS_OF = "2026-10-14"
        assert query.overdue(moment=AT + timedelta(days=900)) is None
