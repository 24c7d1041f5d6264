"""A scheduler is on this computer, or behind TLS; anything else runs anybody's programs."""

import pytest

from groundtruth.core.errors import InputError
from groundtruth.many.addresses import SchedulerAddress


@pytest.fixture
def tls(tmp_path):
    """The three files, by their names here."""
    for name in ("tls_ca", "tls_cert", "tls_key"):
        (tmp_path / name).write_text("")
    return {name: tmp_path / name for name in ("tls_ca", "tls_cert", "tls_key")}


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "[::1]", "127.8.0.1"])
def test_this_computer_needs_no_certificate(host):
    assert not SchedulerAddress(address=f"tcp://{host}:8786").encrypted


@pytest.mark.parametrize(
    "host",
    ["10.0.0.3", "farm.example", "0.0.0.0", "localhost.farm.example", "[fe80::1]", "2130706433"],
)
def test_another_computer_without_tls_is_refused_with_the_reason(host):
    with pytest.raises(InputError, match="whoever reaches a port of Dask can run any program"):
        SchedulerAddress(address=f"tcp://{host}:8786")


def test_with_tls_all_three_files_are_needed(tls):
    assert SchedulerAddress(address="tls://farm.example:8786", **tls).encrypted
    for name in tls:
        option = "--" + name.replace("_", "-")
        with pytest.raises(InputError, match=f"needs {option} FILE too"):
            SchedulerAddress(address="tls://farm.example:8786", **{**tls, name: None})
        with pytest.raises(InputError, match=f"{option} .*: there is no such file"):
            SchedulerAddress(
                address="tls://farm.example:8786", **{**tls, name: tls[name].with_name("gone")}
            )


def test_certificates_without_tls_are_refused(tls):
    with pytest.raises(InputError, match="--tls-ca: belongs to tls://"):
        SchedulerAddress(address="tcp://127.0.0.1:8786", **tls)


@pytest.mark.parametrize(
    "address",
    [
        "",
        "farm.example:8786",
        "inproc://x/1",
        "ws://127.0.0.1:1",
        "tls://farm",
        "tcp://127.0.0.1:8786/x",
    ],
)
def test_what_is_no_address_is_refused(address):
    with pytest.raises(InputError, match=r"is no address of a scheduler; write tls://HOST:PORT"):
        SchedulerAddress(address=address)
