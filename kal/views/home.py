from django.http import Http404, HttpRequest, HttpResponse


def home(request: HttpRequest, slug: str = "", pk: int = 0) -> HttpResponse:
    raise Http404
