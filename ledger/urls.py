"""The ledger's addresses."""

app_name = "ledger"
urlpatterns: list = []
