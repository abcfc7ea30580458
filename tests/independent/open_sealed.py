#!/usr/bin/env python3
"""Open one sealed payload without handfast, from docs/journal-format.md, docs/key-file.md and docs/sealing.md alone.

Needs the PyPI packages `blake3`, `cryptography` (44 or newer) and `pynacl`.

    open_sealed.py FOLDER ENTRY --data-key HEX         with the data key itself
    open_sealed.py FOLDER ENTRY --user HANDLE < PIN    with a person's PIN, the first line of standard input;
                                                       --half FILE where the key needs the computer's half
    open_sealed.py FOLDER ENTRY --shares < SHARES      with two recovery shares, a line each
    open_sealed.py FOLDER ENTRY --opening HEX          with what an extract gives for this entry alone

Prints the payload in hexadecimal. Exits 1 if it does not open.
"""

import argparse
import hmac
import json
import pathlib
import sys

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from nacl.bindings import crypto_aead_xchacha20poly1305_ietf_decrypt as decrypt
from nacl.exceptions import CryptoError

from open_key import seed_of
from verify_journal import check, derive

KEM_SUITE = b"KEM\x00\x20"
HPKE_SUITE = b"HPKE\x00\x20\x00\x01\x00\x03"


def extract(salt, label, ikm, suite):
    """RFC 9180, section 4: LabeledExtract, with HKDF-Extract of RFC 5869."""
    return hmac.digest(salt or bytes(32), b"HPKE-v1" + suite + label + ikm, "sha256")


def expand(prk, label, info, length, suite):
    """RFC 9180, section 4: LabeledExpand, of at most one block."""
    text = length.to_bytes(2, "big") + b"HPKE-v1" + suite + label + info
    return hmac.digest(prk, text + b"\x01", "sha256")[:length]


def hpke_open(secret, enc, info, sealed):
    """RFC 9180, sections 4.1, 5.1 and 5.2: base mode, one message."""
    own = X25519PrivateKey.from_private_bytes(secret)
    shared = own.exchange(X25519PublicKey.from_public_bytes(enc))
    context = enc + own.public_key().public_bytes_raw()
    prk = extract(b"", b"eae_prk", shared, KEM_SUITE)
    shared = expand(prk, b"shared_secret", context, 32, KEM_SUITE)
    context = b"\x00" + extract(b"", b"psk_id_hash", b"", HPKE_SUITE) + extract(b"", b"info_hash", info, HPKE_SUITE)
    prk = extract(shared, b"secret", b"", HPKE_SUITE)
    key, nonce = (expand(prk, label, context, n, HPKE_SUITE) for label, n in ((b"key", 32), (b"base_nonce", 12)))
    return ChaCha20Poly1305(key).decrypt(nonce, sealed, b"")


def joined(shares):
    """The recovery secret from two shares, or None."""
    parts = {}
    for share in shares:
        name, digits = share.split(":")
        number, data = int(name.rsplit("-", 1)[1]), bytes.fromhex("".join(digits.split()))
        if derive("handfast recovery share v1 check", bytes([number]) + data[:64])[:4] != data[64:]:
            return None
        parts[number % 3], parts[(number + 1) % 3] = data[:32], data[32:64]
    if len(parts) < 3:
        return None
    return bytes(a ^ b ^ c for a, b, c in zip(*parts.values()))


def ring_key(ring, secret):
    """The ring key, if it is wrapped for this reading key."""
    public = X25519PrivateKey.from_private_bytes(secret).public_key().public_bytes_raw().hex()
    info = "\n".join(["handfast ring key 1", ring["journal"], str(ring["ring"]), ring["ring_id"], public]).encode()
    for one in ring["people"] + [ring["recovery"]]:
        if one["reading"] == public:
            key = hpke_open(secret, bytes.fromhex(one["enc"]), info, bytes.fromhex(one["sealed"]))
            return key if derive("handfast ring key id v1", key)[:16].hex() == ring["ring_id"] else None
    return None


def data_key(ring, key, frame):
    """The data key that the frame names, or None."""
    for kept in ring["keys"]:
        if kept["id"] == frame.seal_key.hex():
            bound = ["handfast data key 1", ring["journal"], kept["patient"], kept["id"], str(kept["made_in"])]
            sealed, nonce = bytes.fromhex(kept["sealed"]), bytes.fromhex(kept["nonce"])
            return decrypt(sealed, "\n".join(bound).encode(), nonce, key)
    return None


def frame_of(folder, number):
    for seq, frame, _ in check(folder):
        if frame and seq == number:
            return frame
    sys.exit(f"there is no entry {number}")


def opened(frame, key):
    """The payload, or None."""
    if frame.sealing != 1 or frame.seal_key != derive("handfast journal v1 sealing key id", key)[:16]:
        return None
    return decrypt(frame.payload, frame.bound, frame.seal_nonce, key)


def secret_of(options):
    """The reading secret: a person's, or the recovery key's."""
    if options.shares:
        return joined([sys.stdin.readline().strip() for _ in range(2)])
    file = json.loads(pathlib.Path(options.folder, "keys", f"{options.user}.key").read_bytes())
    half = options.half and bytes.fromhex(json.loads(pathlib.Path(options.half).read_bytes())["half"])
    seed = seed_of(file, sys.stdin.buffer.readline().rstrip(b"\r\n"), half)
    return seed and derive("handfast reading key v1", seed)


def payload_of(options):
    frame = frame_of(options.folder, options.entry)
    if options.opening:
        # XChaCha20 is ChaCha20 under the key that HChaCha20 derives: draft-irtf-cfrg-xchacha-03, section 2.3.
        key, nonce = bytes.fromhex(options.opening), bytes(4) + frame.seal_nonce[16:]
        return ChaCha20Poly1305(key).decrypt(nonce, frame.payload, frame.bound)
    if options.data_key:
        return opened(frame, bytes.fromhex(options.data_key))
    secret = secret_of(options)
    ring = json.loads(pathlib.Path(options.folder, "sealing", "ring.json").read_bytes())
    key = secret and ring_key(ring, secret)
    found = key and data_key(ring, key, frame)
    return found and opened(frame, found)


def main():
    options = argparse.ArgumentParser()
    options.add_argument("folder")
    options.add_argument("entry", type=int)
    options.add_argument("--data-key")
    options.add_argument("--opening")
    options.add_argument("--user")
    options.add_argument("--half")
    options.add_argument("--shares", action="store_true")
    try:
        payload = payload_of(options.parse_args())
    except (CryptoError, InvalidTag):
        payload = None
    print(payload.hex() if payload else "does not open")
    return 0 if payload else 1


if __name__ == "__main__":
    sys.exit(main())
