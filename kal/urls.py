"""The site's addresses: kal's own, and those of the two apps it composes."""

from django.urls import include, path

urlpatterns = [
    path("sign-in/", include("kal.account_urls")),
    path("k/<slug:slug>/", include("palettes.urls")),
    path("k/<slug:slug>/", include("schedule.urls")),
    path("", include("kal.site_urls")),
]

handler400 = "kal.views.errors.bad_request"
handler500 = "kal.views.errors.server_error"
