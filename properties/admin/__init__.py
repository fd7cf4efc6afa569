from properties.admin import (
    company,
    customers,
    imports,
    places,
    records,
    sign_in,
    site,
    staff,
    water_budgets,
    watering_rules,
    zones,
)

__all__ = [
    "company",
    "customers",
    "imports",
    "places",
    "records",
    "sign_in",
    "site",
    "staff",
    "water_budgets",
    "watering_rules",
    "zones",
]
