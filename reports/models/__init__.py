from reports.models.documents import Document, DocumentKind
from reports.models.links import ClientLink, LinkPurpose

__all__ = ["ClientLink", "Document", "DocumentKind", "LinkPurpose"]
