"""The care room: animals, what is done for them, and the papers that tell people about it."""

from django.apps import AppConfig


class ClinicConfig(AppConfig):
    name = "clinic"
