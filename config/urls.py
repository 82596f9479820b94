"""The addresses: the clinic's at the top, the ledger's below /ledger/."""

from django.urls import include, path

urlpatterns = [
    path("", include("clinic.urls")),
    path("ledger/", include("ledger.urls")),
]

handler400 = "config.errors.bad_request"
handler403 = "config.errors.forbidden"
handler404 = "config.errors.not_found"
handler500 = "config.errors.server_error"
