from properties.admin import company, customers, places, records, site, staff, zones

__all__ = ["company", "customers", "places", "records", "site", "staff", "zones"]
