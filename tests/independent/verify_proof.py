#!/usr/bin/env python3
"""Check a checkpoint, and proofs that go with it, without handfast: from docs/journal-format.md alone.

Needs the PyPI package `cryptography`.

    verify_proof.py checkpoint NOTE KEY [KEY …]      signed by each of these keys?
    verify_proof.py inclusion PROOF HASH KEY         is the entry with this hash (hexadecimal) in it?
    verify_proof.py consistency PROOF OLD KEY        does the newer checkpoint extend the one in OLD?

A KEY is NAME+ID+BASE64. Prints what holds; exits 1 with a line that says what does not.
"""

import base64
import hashlib
import pathlib
import sys

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey


class Wrong(Exception):
    pass


def sha256(*parts):
    return hashlib.sha256(b"".join(parts)).digest()


def leaf(data):
    return sha256(b"\x00", data)


def node(left, right):
    return sha256(b"\x01", left, right)


def parse_key(text):
    name, key_id, rest = text.split("+", 2)
    typed = base64.b64decode(rest, validate=True)
    kind, key = typed[:1], typed[1:]
    if kind not in (b"\x01", b"\x04") or len(key) != 32:
        raise Wrong(f"{text}: not an Ed25519 key of type 1 or 4")
    if sha256(name.encode(), b"\n", kind, key)[:4].hex() != key_id:
        raise Wrong(f"{text}: the id is not that of name and key")
    return name, bytes.fromhex(key_id), kind, key


def parse_note(text):
    body, blank, lines = text.rpartition("\n\n")
    if not blank or not lines.endswith("\n"):
        raise Wrong("no signed note")
    signatures = []
    for line in lines[:-1].split("\n"):
        dash, name, data = line.split(" ")
        if dash != "\u2014":
            raise Wrong("a signature line begins with something else")
        raw = base64.b64decode(data, validate=True)
        signatures.append((name, raw[:4], raw[4:]))
    return body + "\n", signatures


def check_note(text, key_text):
    name, key_id, kind, key = parse_key(key_text)
    body, signatures = parse_note(text)
    mine = [data for who, which, data in signatures if (who, which) == (name, key_id)]
    if not mine:
        raise Wrong(f"not signed by {name}")
    for data in mine:
        message, signature = body.encode(), data
        if kind == b"\x04":
            seconds = int.from_bytes(data[:8], "big")
            message = f"cosignature/v1\ntime {seconds}\n".encode() + message
            signature = data[8:]
        try:
            Ed25519PublicKey.from_public_bytes(key).verify(signature, message)
        except InvalidSignature:
            raise Wrong(f"the signature by {name} does not hold") from None
    return checkpoint(body)


def checkpoint(body):
    origin, size, root, *more = body[:-1].split("\n")
    root = base64.b64decode(root, validate=True)
    if not origin or str(int(size)) != size or len(root) != 32 or "" in more:
        raise Wrong("not a checkpoint")
    return origin, int(size), root


def digits(body):
    number = int.from_bytes(sha256(b"handfast checkpoint digits\n", body.encode())[:16], "little")
    text = f"{number % 10**30:030}"
    return " ".join(text[at : at + 5] for at in range(0, 30, 5))


def root_of_path(hashed, index, size, path):
    """The root that a leaf and the hashes beside its way lead to (RFC 9162, 2.1.3.2), by its place."""
    if size == 1:
        if path:
            raise Wrong("the proof is too long")
        return hashed
    if not path:
        raise Wrong("the proof is too short")
    left = 1 << (size - 1).bit_length() - 1
    if index < left:
        return node(root_of_path(hashed, index, left, path[:-1]), path[-1])
    return node(path[-1], root_of_path(hashed, index - left, size - left, path[:-1]))


def roots_of_consistency(old, size, path, known):
    """Old and new root that a consistency proof leads to (RFC 9162, 2.1.4.1 read backwards)."""
    if old == size:
        if known is not None:
            if path:
                raise Wrong("the proof is too long")
            return known, known
        if len(path) != 1:
            raise Wrong("the proof has another length")
        return path[0], path[0]
    if not path:
        raise Wrong("the proof is too short")
    left = 1 << (size - 1).bit_length() - 1
    if old <= left:
        before, after = roots_of_consistency(old, left, path[:-1], known)
        return before, node(after, path[-1])
    before, after = roots_of_consistency(old - left, size - left, path[:-1], None)
    return node(path[-1], before), node(path[-1], after)


def proof_parts(text):
    head, _, note = text.partition("\n\n")
    return head.split("\n"), note


def run(what, args):
    if what == "checkpoint":
        text = pathlib.Path(args[0]).read_text(encoding="utf-8")
        for key in args[1:]:
            origin, size, root = check_note(text, key)
        body, _ = parse_note(text)
        print(f"{origin}: {size} entries, root {root.hex()}, digits {digits(body)}")
    elif what == "inclusion":
        lines, note = proof_parts(pathlib.Path(args[0]).read_text(encoding="utf-8"))
        _, size, root = check_note(note, args[2])
        if lines.pop(0) != "c2sp.org/tlog-proof@v1":
            raise Wrong("no tlog-proof")
        if lines[0].startswith("extra "):
            lines.pop(0)
        index = int(lines.pop(0).removeprefix("index "))
        path = [base64.b64decode(line, validate=True) for line in lines]
        if not 0 <= index < size or root_of_path(leaf(bytes.fromhex(args[1])), index, size, path) != root:
            raise Wrong("the entry is not in it")
        print(f"leaf {index} of {size}")
    elif what == "consistency":
        lines, note = proof_parts(pathlib.Path(args[0]).read_text(encoding="utf-8"))
        _, size, root = check_note(note, args[2])
        _, old_size, old_root = check_note(pathlib.Path(args[1]).read_text(encoding="utf-8"), args[2])
        if lines.pop(0) != f"old {old_size}" or not 0 < old_size <= size:
            raise Wrong("the proof is about another size")
        path = [base64.b64decode(line, validate=True) for line in lines]
        if roots_of_consistency(old_size, size, path, old_root) != (old_root, root):
            raise Wrong("the newer tree does not begin with the older one")
        print(f"{size} entries begin with those {old_size}")
    else:
        raise Wrong(__doc__)


if __name__ == "__main__":
    try:
        run(sys.argv[1], sys.argv[2:])
    except (Wrong, ValueError, IndexError, OSError) as error:
        sys.exit(f"{type(error).__name__}: {error}")
