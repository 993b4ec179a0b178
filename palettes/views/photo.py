from django.http import Http404, HttpRequest, HttpResponse


def photos(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404


def photo_page(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404


def photo_image(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404


def use_spot(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404


def remove_photo(request: HttpRequest, slug: str, pk: int = 0, number: int = 0) -> HttpResponse:
    raise Http404
