"""The desk's navigation: every page is in one group, and each of its addresses exists."""

import pytest
from django.template import engines
from django.urls import reverse

from kal.desk.nav import GROUPS
from kal.models import KnitAlong

PAGES = [page for group in GROUPS for page in group.pages]


def shown(section: str) -> str:
    template = engines["django"].from_string("{% load desk %}{% desk_nav one section %}")
    return template.render({"one": KnitAlong(slug="quay"), "section": section})


def test_each_page_is_in_one_group_alone():
    assert len({page.section for page in PAGES}) == len(PAGES)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.section)
def test_a_page_is_marked_as_the_one_that_is_open(page):
    links = shown(page.section)
    assert links.count('aria-current="page"') == 1
    address = reverse(page.route, args=["quay"])
    assert f'href="{address}" aria-current="page"' in links


def test_only_the_pages_of_the_open_group_are_listed():
    links = shown("glossary")
    assert "Dry run" in links
    assert "Join codes" not in links
    assert 'aria-current="true">Pattern<' in links


def test_a_page_that_names_no_section_is_one_of_the_clues():
    assert 'aria-current="page">Clues<' in shown("")
