from reports.models.documents import Document, DocumentKind

__all__ = ["Document", "DocumentKind"]
