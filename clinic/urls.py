"""The clinic's addresses."""

from django.urls import path

app_name = "clinic"
urlpatterns: list = []
