#!/usr/bin/env python3
"""Open a handfast key file without handfast, from docs/key-file.md alone.

Needs the PyPI package `cryptography`, 44 or newer.

    open_key.py FILE [HALF] < PIN    the PIN is the first line of standard input; HALF is the
                                     computer's `device.half`, for a file of format 2

Prints the handle and the public key. Exits 1 if the PIN is wrong, 2 if the file is not one.
"""

import json
import pathlib
import struct
import sys

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

FIELDS = {"format", "handle", "public", "cost", "salt", "nonce", "sealed"}
FORMATS = {1: FIELDS, 2: FIELDS | {"device"}}


def hchacha20(key, nonce):
    """draft-irtf-cfrg-xchacha-03, section 2.2: the key that the first 16 bytes of a nonce choose."""
    x = list(struct.unpack("<4I", b"expand 32-byte k") + struct.unpack("<8I", key) + struct.unpack("<4I", nonce))

    def add(a, b, d, turn):
        x[a] = (x[a] + x[b]) & 0xFFFFFFFF
        x[d] ^= x[a]
        x[d] = (x[d] << turn | x[d] >> (32 - turn)) & 0xFFFFFFFF

    def quarter(a, b, c, d):
        add(a, b, d, 16)
        add(c, d, b, 12)
        add(a, b, d, 8)
        add(c, d, b, 7)

    for _ in range(10):
        for column in range(4):
            quarter(column, 4 + column, 8 + column, 12 + column)
        for column in range(4):
            quarter(column, 4 + (column + 1) % 4, 8 + (column + 2) % 4, 12 + (column + 3) % 4)
    return struct.pack("<8I", *x[:4], *x[12:])


def check_hchacha20():
    """The test vector of section 2.2.1 of the same draft."""
    key = bytes(range(32))
    nonce = bytes.fromhex("000000090000004a0000000031415927")
    want = "82413b4227b27bfed30e42508a877d73a0f9e4d58a74a853c12ec41326d3ecdc"
    assert hchacha20(key, nonce).hex() == want


def seed_of(file, secret, half):
    """The 32-byte seed, or None if the secret is wrong."""
    salt, nonce, sealed = (bytes.fromhex(file[name]) for name in ("salt", "nonce", "sealed"))
    cost = file["cost"]
    key = Argon2id(
        salt=salt, length=32, iterations=cost["passes"], lanes=1, memory_cost=cost["memory_kib"], secret=half
    ).derive(secret)
    bound = f"handfast key file {file['format']}\n{file['handle']}\n{file['public']}"
    bound = (bound + (f"\n{file['device']}" if half else "")).encode()
    cipher = ChaCha20Poly1305(hchacha20(key, nonce[:16]))
    try:
        return cipher.decrypt(bytes(4) + nonce[16:], sealed, bound)
    except InvalidTag:
        return None


def main():
    check_hchacha20()
    file = json.loads(pathlib.Path(sys.argv[1]).read_bytes())
    if FORMATS.get(file["format"]) != set(file):
        print("not a key file of format 1 or 2")
        return 2
    half = None
    if file["format"] == 2:
        half = bytes.fromhex(json.loads(pathlib.Path(sys.argv[2]).read_bytes())["half"])
    seed = seed_of(file, sys.stdin.buffer.readline().rstrip(b"\r\n"), half)
    if seed is None:
        print("wrong PIN")
        return 1
    public = Ed25519PrivateKey.from_private_bytes(seed).public_key().public_bytes_raw().hex()
    if public != file["public"]:
        print("its public key is another's")
        return 2
    print(file["handle"], public)
    return 0


if __name__ == "__main__":
    sys.exit(main())
