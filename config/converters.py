"""Parts of an address that are more than words."""

from datetime import date

from django.urls import register_converter


class DayConverter:
    """A date in an address: 2026-10-14."""

    regex = "[0-9]{4}-[0-9]{2}-[0-9]{2}"

    def to_python(self, value: str) -> date:
        return date.fromisoformat(value)

    def to_url(self, value: date) -> str:
        return value.isoformat()


class FileKindConverter:
    """The end of a table's file: csv or xlsx."""

    regex = "csv|xlsx"

    def to_python(self, value: str) -> str:
        return value

    def to_url(self, value: str) -> str:
        return value


class DataKindConverter(FileKindConverter):
    """The end of a file with one person's data."""

    regex = "csv|xlsx|json"


register_converter(DayConverter, "day")
register_converter(DataKindConverter, "datakind")
register_converter(FileKindConverter, "filekind")
