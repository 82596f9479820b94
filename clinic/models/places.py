"""Rooms and the places in them: kennels, cages, runs."""

from django.db import models


class Room(models.Model):
    name = models.CharField(max_length=60, unique=True)
    position = models.PositiveSmallIntegerField(default=0)

    def __str__(self) -> str:
        return self.name


class Place(models.Model):
    room = models.ForeignKey(Room, on_delete=models.PROTECT, related_name="places")
    code = models.CharField(max_length=8, unique=True)
    position = models.PositiveSmallIntegerField(default=0)

    def __str__(self) -> str:
        return self.code
