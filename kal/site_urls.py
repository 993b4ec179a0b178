"""Addresses of the base app: home, knit-alongs, joining and the organiser's desk."""

from django.urls import URLPattern

app_name = "kal"
urlpatterns: list[URLPattern] = []
