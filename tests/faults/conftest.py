import pytest

from tests.site_process import empty_database


@pytest.fixture
def database_url(tmp_path, db):
    with empty_database(tmp_path) as url:
        yield url
