"""Progress: the list of posts, adding and editing one, and photos. Who sees what: covers.py."""

from datetime import datetime
from functools import partial
from uuid import UUID

from django.contrib import messages
from django.db.models import Max, QuerySet
from django.http import Http404, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from kal.http import MemberRequest, frame, member_required, posted, wants_fragment
from kal.private_files import PrivateFile, hand_out
from palettes.errors import PhotoRefused
from palettes.photos import read_photo
from palettes.uploads import receives_photo
from schedule.actions import post as acts
from schedule.covers import photographed, posts_for, see_post
from schedule.crowd_forms import FINISHED, EditPostForm, NewPostForm, PostForm
from schedule.errors import Blocked, CoverTooLow
from schedule.models import Clue, Post
from schedule.models.post import COPIES, path_of
from schedule.views.crowd import (
    TOO_MANY_REQUESTS,
    UNPROCESSABLE,
    chosen_number,
    clue_about,
    clue_offered,
    numbers_for,
    page_of,
    within_limit,
)
from schedule.views.reading import ASK_AGAIN, never_kept


@require_safe
@never_kept
@member_required()
def progress(request: MemberRequest) -> HttpResponseBase:
    now = timezone.now()
    numbers = numbers_for(request, now)
    chosen = chosen_number(request, numbers)
    found = posts_for(request.participant, now)
    return _list(request, found.filter(clue__number=chosen) if chosen else found, numbers, chosen)


@require_safe
@never_kept
@member_required()
def finished(request: MemberRequest) -> HttpResponseBase:
    """The finished objects, from the last clue on."""
    now = timezone.now()
    numbers = numbers_for(request, now)
    found = posts_for(request.participant, now).filter(is_finished=True)
    is_early = not _may_finish(request, numbers)
    return _list(request, found, numbers, None, is_finished=True, is_too_early=is_early)


def _list(
    request: MemberRequest,
    found: QuerySet[Post],
    numbers: list[int],
    chosen: int | None,
    **more: bool,
) -> HttpResponseBase:
    page = page_of(request, found)
    context = frame(
        request,
        "progress",
        page=page,
        posts=[see_post(post, request.participant) for post in page],
        numbers=numbers,
        chosen=chosen,
        query=f"clue={chosen}&" if chosen else "",
        **more,
    )
    return render(request, "schedule/progress.html", context)


def _may_finish(request: MemberRequest, numbers: list[int]) -> bool:
    """Whether the reader may read the last clue, and so may have finished."""
    last = request.knit_along.clues.aggregate(last=Max("number"))["last"]
    return last is not None and last in numbers


@require_http_methods(["GET", "HEAD", "POST"])
@receives_photo
@never_kept
@member_required()
def new_post(request: MemberRequest) -> HttpResponseBase:
    now = timezone.now()
    numbers = numbers_for(request, now)
    form_with = partial(NewPostForm, numbers=numbers, may_finish=_may_finish(request, numbers))
    if request.method != "POST":
        about = clue_offered(request, numbers)
        return _form_page(request, form_with(initial={"about": about}))
    form = form_with(request.POST, request.FILES)
    if not form.is_valid():
        return _form_page(request, form, UNPROCESSABLE)
    if not within_limit(request, form, "add_post"):
        return _form_page(request, form, TOO_MANY_REQUESTS)
    return _add(request, form, numbers, now)


def _add(
    request: MemberRequest, form: NewPostForm, numbers: list[int], now: datetime
) -> HttpResponseBase:
    sent = form.cleaned_data
    try:
        picture = read_photo(sent["photo"]) if sent["photo"] else None
        post = acts.add_post(
            request.participant,
            clue=_clue_shown(request, form, numbers, now),
            words=sent["words"],
            picture=picture,
            alt=sent["alt"],
            is_finished=sent["about"] == FINISHED,
            now=now,
        )
    except PhotoRefused as refused:
        form.add_error("photo", str(refused))
        return _form_page(request, form, UNPROCESSABLE)
    except Blocked as refused:
        form.add_error(None, str(refused))
        return _form_page(request, form, UNPROCESSABLE)
    messages.success(request, _("Your post is there for everybody who has opened that clue."))
    return redirect("schedule:post", request.knit_along.slug, post.key)


def _clue_shown(request: MemberRequest, form: PostForm, numbers: list[int], now: datetime) -> Clue:
    about = form.cleaned_data["about"]
    return clue_about(request, numbers[-1] if about == FINISHED else int(about), now)


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@member_required()
def edit_post(request: MemberRequest, key: UUID) -> HttpResponseBase:
    """Change what one's own post says, as long as one may post."""
    now = timezone.now()
    own = posts_for(request.participant, now).filter(author=request.participant)
    found = get_object_or_404(own.select_related("moved_to"), key=key)
    numbers = numbers_for(request, now)
    may_finish = _may_finish(request, numbers)
    form = EditPostForm(posted(request), post=found, numbers=numbers, may_finish=may_finish)
    if not form.is_valid():
        return _edit_page(request, form, found, UNPROCESSABLE if form.is_bound else 200)
    if not within_limit(request, form, "edit_post"):
        return _edit_page(request, form, found, TOO_MANY_REQUESTS)
    sent = form.cleaned_data
    try:
        changed = acts.edit_post(
            found,
            clue=_clue_shown(request, form, numbers, now),
            words=sent["words"],
            alt=sent.get("alt", ""),
            is_finished=sent["about"] == FINISHED,
            now=now,
        )
    except Post.DoesNotExist:
        raise Http404 from None  # its author has removed it in another window
    except (Blocked, CoverTooLow) as refused:
        form.add_error(None, str(refused))
        return _edit_page(request, form, found, UNPROCESSABLE)
    messages.success(request, _("Your post is changed.") if changed else _("Nothing was changed."))
    return redirect("schedule:post", request.knit_along.slug, key)


def _edit_page(
    request: MemberRequest, form: EditPostForm, found: Post, status: int
) -> HttpResponseBase:
    context = frame(request, "progress", form=form, post=see_post(found, request.participant))
    return render(request, "schedule/edit_post.html", context, status=status)


def _form_page(request: MemberRequest, form: NewPostForm, status: int = 200) -> HttpResponseBase:
    context = frame(request, "progress", form=form)
    return render(request, "schedule/new_post.html", context, status=status)


@require_safe
@never_kept
@member_required()
def post(request: MemberRequest, key: UUID) -> HttpResponseBase:
    return _post_page(request, key)


def _post_page(request: MemberRequest, key: UUID) -> HttpResponseBase:
    found = get_object_or_404(posts_for(request.participant, timezone.now()), key=key)
    context = frame(request, "progress", post=see_post(found, request.participant))
    template = "schedule/_post.html" if wants_fragment(request) else "schedule/post.html"
    return render(request, template, context)


@require_POST
@never_kept
@member_required()
def show_post(request: MemberRequest, key: UUID) -> HttpResponseBase:
    """Take the cover off one post for good."""
    found = get_object_or_404(posts_for(request.participant, timezone.now()), key=key)
    acts.show_me(request.participant, found)
    if wants_fragment(request):
        return _post_page(request, key)
    return redirect("schedule:post", request.knit_along.slug, key)


@require_POST
@never_kept
@member_required()
def remove_post(request: MemberRequest, key: UUID) -> HttpResponseBase:
    found = get_object_or_404(request.participant.posts, key=key)
    acts.remove_post(found)
    messages.success(request, _("Your post is removed, and its photo with it."))
    return redirect("schedule:progress", request.knit_along.slug)


@require_safe
@never_kept
@member_required()
def post_photo(request: MemberRequest, key: UUID, copy: str) -> HttpResponseBase:
    """One copy of a photo; while the post is covered there is none."""
    if copy not in COPIES:
        raise Http404
    found = get_object_or_404(photographed(request.participant, timezone.now()), key=key)
    # The folder's name is random, and a photo never changes.
    file = PrivateFile(
        path_of(found.photo, copy), f"photo.{copy}", COPIES[copy], f"{found.photo}.{copy}"
    )
    response = hand_out(request, file)
    response.headers["Cache-Control"] = ASK_AGAIN
    return response
