from django.http import Http404, HttpRequest, HttpResponse


def gallery(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404


def gallery_palette(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404
