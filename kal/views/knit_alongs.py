from django.http import Http404, HttpRequest, HttpResponse


def edit(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404


def new(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404


def public_page(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404
