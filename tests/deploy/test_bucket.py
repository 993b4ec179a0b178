"""Private files in a bucket, asked for over HTTP from moto's server.

moto is a model of the S3 protocol that answers real requests of the real client (boto3); it is
not a storage product, so how one behaves under load or when it fails is not tested here.
"""

import os
import subprocess
import sys
from io import BytesIO

import boto3
import pytest
from django.core.exceptions import ImproperlyConfigured
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from pypdf import PdfReader

from kal.demo.pdf import page_pdf
from kal.env import read_storage
from schedule import stamped
from tests.builders import NOON, make_clue
from tests.servers import free_port, running
from tests.web.test_clues import SECOND, at, attach, file_address

PDF = page_pdf("Clue 1", "Knit to the end.")
URL = "s3://key%2Bid:se%2Fcret@127.0.0.1:{port}/knits?region=eu-west-1&tls=off"


@pytest.fixture(scope="module")
def server():
    port = free_port()
    command = [sys.executable, "-m", "moto.server", "-H", "127.0.0.1", "-p", str(port)]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    with running(command, port, **quiet):
        yield port


@pytest.fixture
def bucket(server, settings, monkeypatch):
    """A new bucket as the site's storage, and the client to look into it."""
    monkeypatch.setenv("KAL_STORAGE_URL", URL.format(port=server))
    # Nothing of this machine's own accounts, if it has any.
    monkeypatch.setenv("AWS_CONFIG_FILE", os.devnull)
    monkeypatch.setenv("AWS_SHARED_CREDENTIALS_FILE", os.devnull)
    client = boto3.client(
        "s3",
        endpoint_url=f"http://127.0.0.1:{server}",
        aws_access_key_id="key+id",
        aws_secret_access_key="se/cret",
        region_name="eu-west-1",
    )
    client.create_bucket(
        Bucket="knits", CreateBucketConfiguration={"LocationConstraint": "eu-west-1"}
    )
    settings.STORAGES = settings.STORAGES | {"default": read_storage()}
    yield client
    for name in names(client):
        client.delete_object(Bucket="knits", Key=name)
    client.delete_bucket(Bucket="knits")
    client.close()


def names(client):
    return sorted(
        item["Key"] for item in client.list_objects_v2(Bucket="knits").get("Contents", [])
    )


@pytest.fixture(autouse=True)
def signed_in_today():
    with at(NOON - SECOND * 60):
        yield


@pytest.fixture
def file(bucket, knit_along):
    return attach(make_clue(knit_along), PDF)


def test_a_pdf_is_kept_stamped_and_streamed_through_the_site(bucket, knit_along, file, as_kit):
    with at(NOON):
        answer = as_kit.get(file_address(knit_along, file))
        again = as_kit.get(file_address(knit_along, file))
    (page,) = PdfReader(BytesIO(answer.content)).pages
    assert "For Kit ·" in page.extract_text()
    assert again.content == answer.content
    assert "Location" not in answer.headers  # no address of the bucket that could be passed on
    assert names(bucket) == sorted([str(file.file.name), f"{list_copy()}"])


def list_copy():
    (folder,) = default_storage.listdir(stamped.FOLDER)[0]
    (name,) = default_storage.listdir(f"{stamped.FOLDER}/{folder}")[1]
    return f"{stamped.FOLDER}/{folder}/{name}"


def test_a_range_is_answered_in_part(bucket, knit_along, file, as_kit):
    with at(NOON):
        whole = as_kit.get(file_address(knit_along, file)).content
        part = as_kit.get(file_address(knit_along, file), headers={"Range": "bytes=5-14"})
    assert (part.status_code, b"".join(part)) == (206, whole[5:15])
    assert part.headers["Content-Range"] == f"bytes 5-14/{len(whole)}"


def test_nothing_before_its_instant_and_nothing_made(bucket, knit_along, file, as_kit):
    with at(NOON - SECOND):
        assert as_kit.get(file_address(knit_along, file)).status_code == 404
    assert names(bucket) == [str(file.file.name)]


def test_objects_are_nobodys_to_read_without_a_signature(bucket, knit_along, file):
    grants = bucket.get_object_acl(Bucket="knits", Key=str(file.file.name))["Grants"]
    assert [grant["Grantee"]["Type"] for grant in grants] == ["CanonicalUser"]


def test_stale_copies_go(bucket, knit_along, kit, file):
    stamped.make_copy(stamped.copy_path(file.key, kit), file, kit)
    assert stamped.drop_stale_copies(most=10) == 0
    type(kit).objects.filter(pk=kit.pk).update(left_at=NOON)
    assert stamped.drop_stale_copies(most=10) == 1
    assert names(bucket) == [str(file.file.name)]


def test_a_photo_comes_from_the_bucket_even_where_nginx_hands_out_files(
    bucket, knit_along, kit, as_kit, settings
):
    settings.NGINX_FILES = "/private/"
    photo = kit.photos.create(
        width=4, height=3, image=default_storage.save("photos/a.webp", ContentFile(b"RIFF"))
    )
    answer = as_kit.get(f"/k/{knit_along.slug}/palette/photos/{photo.pk}/image/")
    assert answer.content == b"RIFF"
    assert "X-Accel-Redirect" not in answer.headers


@pytest.mark.parametrize(
    "url",
    ["s3://host", "s3://host/", "s3://host/a/b", "s3:///bucket", "https://host/bucket", "bucket"],
)
def test_an_address_that_names_no_bucket_is_refused(url, monkeypatch):
    monkeypatch.setenv("KAL_STORAGE_URL", url)
    with pytest.raises(ImproperlyConfigured, match="KAL_STORAGE_URL names no bucket"):
        read_storage()
