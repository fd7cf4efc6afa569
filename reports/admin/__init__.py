from reports.admin import documents

__all__ = ["documents"]
