from django.http import Http404, HttpRequest, HttpResponse


def people(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404


def change_role(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404


def remove(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404


def let_back(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404
