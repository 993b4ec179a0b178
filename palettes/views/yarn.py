from django.http import Http404, HttpRequest, HttpResponse


def add_yarn(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404


def yarn_page(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404


def place_yarn(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404


def move_yarn(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404


def remove_yarn(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404
