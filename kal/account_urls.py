"""Signing in and out by a mailed code; nothing of passwords is routed."""

from django.urls import include, path

urlpatterns = [path("", include("allauth.account.urls"))]
