"""Signing in and out by a mailed code; nothing of passwords is routed."""

from allauth.account.views import logout
from django.urls import path
from django.views.generic import TemplateView

from kal.views import sign_in

urlpatterns = [
    path("", sign_in.request_code, name="account_login"),
    path("code/", sign_in.confirm_code, name="account_confirm_login_code"),
    path("out/", logout, name="account_logout"),
    path(
        "closed/",
        TemplateView.as_view(template_name="account/account_inactive.html"),
        name="account_inactive",
    ),
]
