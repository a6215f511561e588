"""The kitchen's certificate: a real TLS handshake, constraints, renewal."""

import ipaddress
import ssl
import urllib.request
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509

from bloomless.web import Door
from bloomless.web.certificate import kitchen_certificate
from bloomless.web.server import listening_socket, start_lines
from bloomless.web.sign_in import set_secret
from services.web import serving

NOW = datetime.now(UTC)


def test_a_browser_that_trusts_the_authority_gets_in(house):
    house = replace(house, clock=lambda: datetime.now(UTC))  # OpenSSL goes by the real clock
    door = Door("127.0.0.1", 0, tls=True)
    certificate = kitchen_certificate(house.places.folder, ["127.0.0.1"], NOW)
    trusting = ssl.create_default_context(cafile=str(certificate.authority_file))
    with serving(house, door) as url:
        for name in ("localhost", "127.0.0.1"):
            with urllib.request.urlopen(
                url.replace("127.0.0.1", name) + "/kitchen-certificate", context=trusting
            ) as got:
                assert got.read() == certificate.authority_file.read_bytes()
        with pytest.raises(OSError, match="CERTIFICATE_VERIFY_FAILED"):
            urllib.request.urlopen(url + "/")


def test_kept_until_it_runs_out_or_the_address_changes(tmp_path):
    first = kitchen_certificate(tmp_path, ["192.168.1.20"], NOW)
    server = first.chain_file.read_bytes()
    assert kitchen_certificate(tmp_path, ["192.168.1.20"], NOW).chain_file.read_bytes() == server
    moved = kitchen_certificate(tmp_path, ["192.168.1.21"], NOW)
    assert moved.fingerprint == first.fingerprint
    assert moved.chain_file.read_bytes() != server
    later = kitchen_certificate(tmp_path, ["192.168.1.21"], NOW + timedelta(days=380))
    assert later.fingerprint == first.fingerprint
    renewed = x509.load_pem_x509_certificates(later.chain_file.read_bytes())[0]
    assert renewed.not_valid_after_utc > NOW + timedelta(days=500)
    assert kitchen_certificate(tmp_path, ["bench.example"], NOW).fingerprint != first.fingerprint


def test_the_authority_cannot_vouch_for_the_world(tmp_path):
    files = kitchen_certificate(tmp_path, ["192.168.1.20"], NOW)
    authority = x509.load_pem_x509_certificate(files.authority_file.read_bytes())
    allowed = authority.extensions.get_extension_for_class(x509.NameConstraints)
    assert allowed.critical
    nets = [n.value for n in allowed.value.permitted_subtrees if isinstance(n, x509.IPAddress)]
    assert not any(ipaddress.ip_address("93.184.216.34") in net for net in nets if net.version == 4)
    assert files.key_file.stat().st_mode & 0o077 == 0


def test_the_first_lines_say_who_may_come_in(house):
    said = "\n".join(start_lines(house, Door("127.0.0.1", 8750)))
    assert "this machine only" in said
    set_secret(house, "bench", "246810")
    said = "\n".join(start_lines(house, Door("0.0.0.0", 8750)))
    assert "sign in (the PIN works bowls only)" in said
    assert "Not encrypted" in said
    said = "\n".join(start_lines(house, Door("::1", 8750, tls=True)))
    assert "fingerprint" in said
    assert "https://localhost:8750/" in said


def test_a_taken_port():
    with listening_socket("127.0.0.1", 0) as first:
        first.listen()
        with pytest.raises(OSError, match="in use"):
            listening_socket("127.0.0.1", first.getsockname()[1])
