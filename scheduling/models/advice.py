"""What the client of a property goes by between two monthly notices."""

from __future__ import annotations

from django.db import models

from properties.models import Property


class PropertyAdvice(models.Model):
    """See `scheduling.domain.change_worth.Advice`."""

    property = models.OneToOneField(
        Property, on_delete=models.CASCADE, primary_key=True, related_name="advice"
    )
    percent = models.PositiveSmallIntegerField(default=100)
    since = models.DateField(null=True, blank=True)
    is_more = models.BooleanField(null=True, blank=True)
    looked_on = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.percent} % at {self.property_id}"
