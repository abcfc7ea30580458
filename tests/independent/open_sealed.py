#!/usr/bin/env python3
"""Open one sealed payload without handfast, from docs/journal-format.md alone.

Needs the PyPI packages `blake3`, `cryptography` (44 or newer) and `pynacl`.

    open_sealed.py FOLDER ENTRY --data-key HEX        with the data key itself

Prints the payload in hexadecimal. Exits 1 if it does not open.
"""

import argparse
import sys

from nacl.bindings import crypto_aead_xchacha20poly1305_ietf_decrypt as decrypt
from nacl.exceptions import CryptoError

from verify_journal import check, derive


def frame_of(folder, number):
    for seq, frame, _ in check(folder):
        if frame and seq == number:
            return frame
    sys.exit(f"there is no entry {number}")


def opened(frame, data_key):
    """The payload, or None."""
    if frame.sealing != 1 or frame.seal_key != derive("handfast journal v1 sealing key id", data_key)[:16]:
        return None
    try:
        return decrypt(frame.payload, frame.bound, frame.seal_nonce, data_key)
    except CryptoError:
        return None


def main():
    options = argparse.ArgumentParser()
    options.add_argument("folder")
    options.add_argument("entry", type=int)
    options.add_argument("--data-key", required=True)
    options = options.parse_args()
    payload = opened(frame_of(options.folder, options.entry), bytes.fromhex(options.data_key))
    print("does not open" if payload is None else payload.hex())
    return 1 if payload is None else 0


if __name__ == "__main__":
    sys.exit(main())
