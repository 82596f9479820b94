"""The rescue partners: groups that bring animals and may share the cost."""

from django.db import models

from clinic.models.keys import new_key


class Partner(models.Model):
    key = models.CharField(max_length=32, unique=True, default=new_key, editable=False)
    name = models.CharField(max_length=120, unique=True)
    short_name = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    address = models.TextField(blank=True)
    since_on = models.DateField()
    until_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(until_on__isnull=True) | models.Q(until_on__gte=models.F("since_on")),
                name="partner_until_not_before_since",
            ),
        ]

    def __str__(self) -> str:
        return self.name
