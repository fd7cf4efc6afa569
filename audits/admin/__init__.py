from audits.admin import catch_tests, findings, program_settings, visits

__all__ = ["catch_tests", "findings", "program_settings", "visits"]
