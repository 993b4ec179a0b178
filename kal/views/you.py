from django.http import Http404, HttpRequest, HttpResponse


def settings(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404


def demo_mail(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404
