from django.http import Http404, HttpRequest, HttpResponse


def request_code(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404


def confirm_code(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404
