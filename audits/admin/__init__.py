from audits.admin import catch_tests, findings, photos, plants, program_settings, visits, water

__all__ = [
    "catch_tests",
    "findings",
    "photos",
    "plants",
    "program_settings",
    "visits",
    "water",
]
