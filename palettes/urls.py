"""Addresses below a knit-along's own, /k/<slug>/."""

from django.urls import URLPattern

app_name = "palettes"
urlpatterns: list[URLPattern] = []
