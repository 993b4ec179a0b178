"""Addresses of the base app: home, knit-alongs, joining and the organiser's desk."""

from django.urls import URLPattern, URLResolver, include, path

from kal.views import (
    batches,
    buyers,
    codes,
    desk,
    desk_figures,
    home,
    joining,
    keeping,
    knit_alongs,
    membership,
    people,
    preparing,
    watching,
    you,
    your_data,
)

app_name = "kal"

desk_patterns: list[URLPattern | URLResolver] = [
    path("", desk.desk, name="desk"),
    path("edit/", knit_alongs.edit, name="edit"),
    path("palettes/", desk.palettes_switch, name="palettes_switch"),
    path("keeping/", keeping.keeping, name="keeping"),
    path("keeping/archive/", keeping.archive, name="archive"),
    path("keeping/clone/", keeping.clone, name="clone"),
    path("log/", desk.audit_log, name="audit_log"),
    path("figures/<slug:figure>/", desk_figures.desk_figure, name="desk_figure"),
    path("figures/<slug:figure>/table/", desk_figures.desk_figure_table, name="desk_figure_table"),
    path("people/", people.people, name="people"),
    path("people/<int:pk>/role/", people.change_role, name="change_role"),
    path("people/<int:pk>/remove/", people.remove, name="remove_participant"),
    path("people/<int:pk>/let-back/", people.let_back, name="let_back"),
    path("codes/", codes.codes, name="codes"),
    path("codes/<int:pk>/withdraw/", codes.withdraw, name="withdraw_code"),
    path("codes/batches/", batches.batches, name="batches"),
    path("codes/batches/<int:pk>/", batches.batch, name="batch"),
    path("codes/batches/<int:pk>/cards/", batches.batch_cards, name="batch_cards"),
    path("codes/batches/<int:pk>/list/", batches.batch_list, name="batch_list"),
    path("codes/batches/<int:pk>/cancel/", batches.cancel, name="cancel_batch"),
    path("people/transfer/", buyers.transfer, name="transfer"),
    path("join-list/file/", buyers.join_list_file, name="join_list_file"),
    path("join-list/import/", buyers.import_buyers, name="import_buyers"),
    path("join-list/import/<int:pk>/", buyers.buyers_import, name="buyers_import"),
    path("join-list/import/<int:pk>/confirm/", buyers.confirm, name="confirm_import"),
    path("join-list/import/<int:pk>/undo/", buyers.undo, name="undo_import"),
    path("join-list/", codes.join_list, name="join_list"),
    path("join-list/<int:pk>/remove/", codes.remove_from_list, name="remove_from_list"),
]

knit_along_patterns: list[URLPattern | URLResolver] = [
    path("", knit_alongs.public_page, name="knitalong"),
    path("join/", joining.join, name="join"),
    path("prepare/", preparing.prepare, name="prepare"),
    path("prepare/pack/", preparing.pack, name="pack"),
    path("membership/", membership.membership, name="membership"),
    path("membership/leave/", membership.leave, name="leave"),
    path("desk/", include(desk_patterns)),
]

urlpatterns = [
    path("", home.home, name="home"),
    path("new/", knit_alongs.new, name="new"),
    path("settings/", you.settings, name="settings"),
    path("settings/data/", your_data.your_data, name="your_data"),
    path("settings/data/export/", your_data.export, name="export_mine"),
    path("settings/data/erase/", your_data.erase, name="erase_me"),
    path("language/", you.language, name="language"),
    path("demo/mail/", you.demo_mail, name="demo_mail"),
    path("health/live", watching.live, name="health_live"),
    path("health/ready", watching.ready, name="health_ready"),
    path("health/worker", watching.worker, name="health_worker"),
    path("metrics", watching.counts, name="metrics"),
    path("k/<slug:slug>/", include(knit_along_patterns)),
]
