from properties.admin import (
    company,
    customers,
    places,
    records,
    site,
    staff,
    watering_rules,
    zones,
)

__all__ = [
    "company",
    "customers",
    "places",
    "records",
    "site",
    "staff",
    "watering_rules",
    "zones",
]
