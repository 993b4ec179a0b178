from django.http import Http404, HttpRequest, HttpResponse


def desk(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404


def palettes_switch(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404


def audit_log(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404
