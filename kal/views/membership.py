from django.http import Http404, HttpRequest, HttpResponse


def membership(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404


def leave(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404
