from django.http import Http404, HttpRequest, HttpResponse


def palette_page(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404


def register(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404


def history(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404


def registration_page(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404
