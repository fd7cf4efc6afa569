from properties.admin import (
    company,
    customers,
    places,
    records,
    site,
    staff,
    water_budgets,
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
    "water_budgets",
    "watering_rules",
    "zones",
]
