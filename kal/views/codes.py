from django.http import Http404, HttpRequest, HttpResponse


def codes(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404


def withdraw(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404


def join_list(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404


def remove_from_list(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404
