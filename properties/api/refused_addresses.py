"""An address that the mail server refused, trusted again at the office's word."""

from __future__ import annotations

from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from properties.api.places import CustomerSerializer
from properties.http.permissions import Access
from properties.http.views import staff_of
from properties.models import Customer
from properties.models.staff import OFFICE_ONLY
from properties.services.mail_consent import clear_refused_address


class ClearRefusedAddressView(APIView):
    """Let notices go out again to the address on file; those held back are tried again by hand."""

    access = Access(read=frozenset(), write=OFFICE_ONLY)

    @extend_schema(request=None, responses=CustomerSerializer)
    def post(self, request: Request, pk: UUID) -> Response:
        customer = get_object_or_404(Customer, pk=pk)
        cleared = clear_refused_address(customer.pk, actor=staff_of(request), now=timezone.now())
        return Response(CustomerSerializer(cleared, context={"request": request}).data)
