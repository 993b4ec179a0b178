"""Addresses below a knit-along's own, /k/<slug>/."""

from django.urls import include, path

from schedule.views import (
    changing,
    choosing,
    counts,
    dry_run,
    errata,
    feeds,
    glossary,
    kit_run,
    letters,
    mail,
    moderation,
    plan_opening,
    planning,
    posts,
    questions,
    reading,
    reading_ahead,
    writing,
    yarn,
    yarn_desk,
)

app_name = "schedule"

desk_patterns = [
    path("", planning.desk_clues, name="desk_clues"),
    path("propose/", planning.propose_all, name="propose_clues"),
    path("add/", changing.add_clue, name="add_clue"),
    path("<int:number>/", writing.edit_clue, name="edit_clue"),
    path("<int:number>/keep/", writing.keep_clue, name="keep_clue"),
    path("<int:number>/discard/", writing.discard_words, name="discard_words"),
    path("<int:number>/try/", writing.try_clue, name="try_clue"),
    path("<int:number>/preview/", writing.preview_clue, name="preview_clue"),
    path("<int:number>/ready/", planning.ready_clue, name="ready_clue"),
    path("<int:number>/move/", changing.move_clue, name="move_clue"),
    path("<int:number>/hold/", changing.hold_clue, name="hold_clue"),
    path("<int:number>/remove/", changing.remove_clue, name="remove_clue"),
    path("change/", changing.change_schedule, name="change_schedule"),
]

dry_run_patterns = [
    path("", dry_run.dry_run_page, name="dry_run"),
    path("kits/", kit_run.kit_run_page, name="kit_run"),
    path("list/", dry_run.dry_run_list, name="dry_run_list"),
    path("notes/", dry_run.palette_notes, name="palette_notes"),
    path("<int:number>/", dry_run.dry_run_page, name="dry_run_clue"),
    path("<int:number>/list/", dry_run.dry_run_list, name="dry_run_list_clue"),
    path("<int:number>/notes/", dry_run.palette_notes, name="palette_notes_clue"),
]

progress_patterns = [
    path("", posts.progress, name="progress"),
    path("finished/", posts.finished, name="finished"),
    path("new/", posts.new_post, name="new_post"),
    path("<uuid:key>/", posts.post, name="post"),
    path("<uuid:key>/show/", posts.show_post, name="show_post"),
    path("<uuid:key>/edit/", posts.edit_post, name="edit_post"),
    path("<uuid:key>/remove/", posts.remove_post, name="remove_post"),
    path("<uuid:key>/photo/<str:copy>", posts.post_photo, name="post_photo"),
]

question_patterns = [
    path("", questions.questions, name="questions"),
    path("ask/", questions.ask, name="ask"),
    path("<uuid:key>/", questions.question, name="question"),
    path("<uuid:key>/show/", questions.show_question, name="show_question"),
    path("<uuid:key>/answer/", questions.answer_question, name="answer_question"),
    path("<uuid:key>/remove/", questions.remove_question, name="remove_question"),
    path("answers/<uuid:key>/remove/", questions.remove_answer, name="remove_answer"),
    path("answers/<uuid:key>/note/", questions.note_answer, name="note_answer"),
]

moderation_patterns = [
    path("", moderation.moderation, name="moderation"),
    path("<str:kind>/<uuid:key>/", moderation.moderate, name="moderate"),
    path("people/<int:pk>/lift/", moderation.lift_block, name="lift_block"),
]

urlpatterns = [
    path("clues/", reading.clues, name="clues"),
    path("clues/<int:number>/", reading.clue, name="clue"),
    path("clues/<int:number>/files/<uuid:key>/", reading.attachment, name="attachment"),
    path("clues/<int:number>/way/", choosing.choose, name="choose_way"),
    path("clues/<int:number>/read-ahead/", reading_ahead.read_ahead, name="read_ahead"),
    path("clues/<int:number>/read-ahead/comment/", reading_ahead.comment, name="comment"),
    path("clues/<int:number>/read-ahead/sign-off/", reading_ahead.sign, name="sign_off"),
    path("clues/<int:number>/read-ahead/comments/<int:pk>/", reading_ahead.answer, name="answer"),
    path("clues/<int:number>/errata/<int:revision>/", errata.erratum, name="erratum"),
    path("errata/", errata.errata, name="errata"),
    path("desk/glossary/", glossary.glossary, name="glossary"),
    path("clues/<int:number>/colours/", letters.clue_colours, name="clue_colours"),
    path("clues/<int:number>/counts/", counts.clue_counts, name="clue_counts"),
    path("yarn/", yarn.yarn, name="yarn"),
    path("yarn/needed/", yarn.needed, name="yarn_needed"),
    path("yarn/pace/", yarn.pace, name="pace"),
    path("yarn/weigh-ins/<int:pk>/", yarn.weigh_in, name="weigh_in"),
    path("yarn/weigh-ins/<int:pk>/remove/", yarn.remove_weigh_in, name="remove_weigh_in"),
    path("desk/yarn/", yarn_desk.desk_yarn, name="desk_yarn"),
    path("desk/yarn/stitches/", yarn_desk.desk_counts, name="desk_counts"),
    path("desk/yarn/pace/", yarn_desk.desk_pace, name="desk_pace"),
    path("letters/", letters.letters, name="letters"),
    path("letters/notes/", letters.own_notes, name="own_notes"),
    path("letters/reset/", letters.reset_letters, name="reset_letters"),
    path("desk/letters/", plan_opening.letter_plan, name="letter_plan"),
    path("desk/dry-run/", include(dry_run_patterns)),
    path("desk/clues/", include(desk_patterns)),
    path("desk/notices/", mail.notices, name="notices"),
    path("desk/notices/retry/", mail.retry_notices, name="retry_notices"),
    path("progress/", include(progress_patterns)),
    path("questions/", include(question_patterns)),
    path("desk/questions/", questions.desk_questions, name="desk_questions"),
    path("report/<str:kind>/<uuid:key>/", moderation.report, name="report"),
    path("moderation/", include(moderation_patterns)),
    path("calendar/", feeds.subscribe, name="subscribe"),
    path("calendar/renew/", feeds.renew_feeds, name="renew_feeds"),
    path("calendar/stop/", feeds.stop_feeds, name="stop_feeds"),
    path("feed/<str:token>/clues.ics", feeds.calendar_feed, name="calendar_feed"),
    path("feed/<str:token>/clues.atom", feeds.news_feed, name="news_feed"),
    path("unsubscribe/<str:token>/", mail.unsubscribe, name="unsubscribe"),
]
