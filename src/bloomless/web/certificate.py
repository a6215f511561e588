"""A certificate for the kitchen's network: an authority of one's own that can vouch for this machine only."""

from __future__ import annotations

import ipaddress
import os
import socket
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

__all__ = ["Certificate", "kitchen_certificate"]

_AUTHORITY_LASTS: Final = timedelta(days=3650)
_SERVER_LASTS: Final = timedelta(days=397)  # browsers refuse server certificates of more than 398 days
_RENEW_BEFORE: Final = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class Certificate:
    """Files of the certificate."""

    authority_file: Path
    chain_file: Path
    key_file: Path
    fingerprint: str
    """SHA-256 of the authority, for comparing by eye."""

    def how_to_trust(self, address: str) -> list[str]:
        """What to do once on each tablet."""
        return [
            f"Encrypted by a certificate of your own ({self.authority_file}). On each tablet, once: open {address}, "
            "install it as a trusted authority, and compare its SHA-256 fingerprint:",
            f"  {self.fingerprint}",
            "It can vouch for the addresses of this machine and for nothing else.",
        ]


def kitchen_certificate(folder: Path, names: Sequence[str], now: datetime) -> Certificate:
    """The certificate in ``folder``/tls; made if there is none, renewed if it runs out or the addresses changed."""
    home = folder / "tls"
    home.mkdir(mode=0o700, parents=True, exist_ok=True)
    files = {name: home / f"{name}.pem" for name in ("authority", "authority-key", "server", "server-key")}
    covered = _covered(names)
    authority, key = _kept_authority(files, covered, now) or _new_authority(files, covered, now)
    if not _still_good(files, authority, covered, now):
        _new_server(files, authority, key, covered, now)
    digest = authority.fingerprint(hashes.SHA256()).hex().upper()
    shown = ":".join(digest[i : i + 2] for i in range(0, len(digest), 2))
    return Certificate(files["authority"], files["server"], files["server-key"], shown)


def _covered(names: Sequence[str]) -> list[x509.GeneralName]:
    host = socket.gethostname().split(".")[0].lower()
    texts = dict.fromkeys(["localhost", host, f"{host}.local", "127.0.0.1", *names])
    covered: list[x509.GeneralName] = []
    for text in texts:
        try:
            covered.append(x509.IPAddress(ipaddress.ip_address(text)))
        except ValueError:
            covered.append(x509.DNSName(text))
    return covered


def _constraints(covered: Sequence[x509.GeneralName]) -> list[x509.GeneralName]:
    """What the authority may vouch for: these names, and addresses of private networks (RFC 1918, RFC 4193)."""
    names: list[x509.GeneralName] = [name for name in covered if isinstance(name, x509.DNSName)]
    texts = ["127.0.0.0/8", "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "fc00::/7", "::1/128"]
    nets = [ipaddress.ip_network(text) for text in texts]
    for name in covered:
        if isinstance(name, x509.IPAddress):
            own = ipaddress.ip_network(str(name.value))
            if not any(own.version == net.version and own.subnet_of(net) for net in nets):  # type: ignore[arg-type]
                nets.append(own)
    return [*names, *(x509.IPAddress(net) for net in nets)]


def _kept_authority(
    files: dict[str, Path], covered: Sequence[x509.GeneralName], now: datetime
) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey] | None:
    if not (files["authority"].exists() and files["authority-key"].exists()):
        return None
    authority = x509.load_pem_x509_certificate(files["authority"].read_bytes())
    key = serialization.load_pem_private_key(files["authority-key"].read_bytes(), None)
    allowed = authority.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees or []
    fits = all(wanted in allowed for wanted in _constraints(covered))
    if (
        authority.not_valid_after_utc - _SERVER_LASTS < now
        or not fits
        or not isinstance(key, ec.EllipticCurvePrivateKey)
    ):
        return None
    return authority, key


def _new_authority(
    files: dict[str, Path], covered: Sequence[x509.GeneralName], now: datetime
) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Bloomless kitchen {now:%Y-%m-%d %H:%M}")])
    usage = x509.KeyUsage(
        digital_signature=False, content_commitment=False, key_encipherment=False, data_encipherment=False,
        key_agreement=False, key_cert_sign=True, crl_sign=False, encipher_only=False, decipher_only=False,
    )  # fmt: skip
    authority = (
        _builder(name, name, key, now, _AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(_constraints(covered), None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _write(files["authority-key"], _pem(key))
    _write(files["authority"], authority.public_bytes(serialization.Encoding.PEM))
    return authority, key


def _still_good(
    files: dict[str, Path], authority: x509.Certificate, covered: Sequence[x509.GeneralName], now: datetime
) -> bool:
    if not (files["server"].exists() and files["server-key"].exists()):
        return False
    server = x509.load_pem_x509_certificate(files["server"].read_bytes())
    names = server.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    same = server.issuer == authority.subject and set(covered) <= set(names)
    return same and server.not_valid_after_utc - _RENEW_BEFORE > now


def _new_server(
    files: dict[str, Path],
    authority: x509.Certificate,
    authority_key: ec.EllipticCurvePrivateKey,
    covered: Sequence[x509.GeneralName],
    now: datetime,
) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Bloomless")])
    server = (
        _builder(name, authority.subject, key, now, _SERVER_LASTS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.SubjectAlternativeName(covered), critical=False)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key()), critical=False)
        .sign(authority_key, hashes.SHA256())
    )
    _write(files["server-key"], _pem(key))
    pem = serialization.Encoding.PEM
    _write(files["server"], server.public_bytes(pem) + authority.public_bytes(pem))


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, now: datetime, lasts: timedelta
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + lasts)
    )


def _pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _write(file: Path, content: bytes) -> None:
    """Write with reading rights for this user only, from the first byte on."""
    file.unlink(missing_ok=True)
    with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
        out.write(content)
