#!/usr/bin/env python3
"""Check a handfast journal without handfast, from docs/journal-format.md alone.

Needs the PyPI packages `blake3` and `cryptography`.

    verify_journal.py DIR            segments, chain, hashes, signatures, payloads, authors
    verify_journal.py --frames DIR   the same without payloads and authors
    verify_journal.py --show N DIR   entry N as JSON, after the check

Prints one line per fault, each naming the entry; then the number of entries and the head. Exits 1
if there is any fault. One thing is left to the program: OpenSSL, which checks the signatures here, lets
through some odd keys and encodings that the page says to refuse.
"""

import argparse
import json
import pathlib
import struct
import sys

from blake3 import blake3
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from payload import Malformed, Pages

SEGMENT_HEADER, FRAME_HEADER, SIGNATURE, HASH = 104, 192, 64, 32
PAYLOAD_MAX = 65536
SIGN_DOMAIN = b"handfast journal v1 entry sign\n\0"


def derive(context, data):
    return blake3(data, derive_key_context=context).digest()


class Segment:
    def __init__(self, path):
        self.path, self.data = path, path.read_bytes()
        head = self.data[:SEGMENT_HEADER]
        if len(head) < SEGMENT_HEADER or head[:8] != b"handfast":
            raise ValueError(f"{path.name}: no segment header")
        version, length, reserved = struct.unpack_from("<HHI", head, 8)
        if (version, length, reserved) != (1, SEGMENT_HEADER, 0):
            raise ValueError(f"{path.name}: format {version}, header {length}, reserved {reserved}")
        if head[72:104] != derive("handfast journal v1 segment header check", head[:72]):
            raise ValueError(f"{path.name}: header check")
        self.journal, self.first, self.prev = head[16:32], struct.unpack_from("<Q", head, 32)[0], head[40:72]

    def frames(self):
        """Yields (offset, frame, fault): one of the two, and goes on behind what is damaged."""
        at = SEGMENT_HEADER
        while at < len(self.data):
            try:
                frame = Frame(self.data, at)
            except ValueError as error:
                yield at, None, f"{self.path.name} byte {at}: {error}"
                at = self.data.find(b"hfen", at + 1)
                if at < 0:
                    return
                continue
            yield at, frame, None
            at += frame.length


class Frame:
    """One entry; the constructor checks everything that does not need its neighbours."""

    def __init__(self, data, at):
        head = data[at : at + FRAME_HEADER]
        if len(head) < FRAME_HEADER or head[:4] != b"hfen":
            raise ValueError("no frame here")
        (self.version, header_len, payload_len, self.kind, self.kind_version, self.encoding,
         self.seq, self.synced_through, self.recorded_at, self.following, self.sealing,
         reserved) = struct.unpack_from("<HHIHBBQQqHB5s", head, 4)
        if (self.version, header_len) != (1, FRAME_HEADER) or payload_len > PAYLOAD_MAX:
            raise ValueError("frame shape")
        if head[184:192] != derive("handfast journal v1 frame header check", head[:184])[:8]:
            raise ValueError("frame header check")
        if reserved != bytes(5) or self.sealing or head[144:184] != bytes(40):
            raise ValueError("fields that format 1 leaves zero")
        self.id, self.prev = head[48:64], head[64:96]
        self.author, self.patient = head[96:128], head[128:144]
        self.length = FRAME_HEADER + payload_len + SIGNATURE + HASH
        whole = data[at : at + self.length]
        if len(whole) < self.length:
            raise ValueError("the file ends inside the frame")
        signed = FRAME_HEADER + payload_len
        self.payload = whole[FRAME_HEADER:signed]
        signature, self.hash = whole[signed : signed + SIGNATURE], whole[signed + SIGNATURE :]
        if self.hash != derive("handfast journal v1 entry hash", whole[: signed + SIGNATURE]):
            raise ValueError("entry hash")
        content = derive("handfast journal v1 entry content", whole[:signed])
        try:
            Ed25519PublicKey.from_public_bytes(self.author).verify(signature, SIGN_DOMAIN + content)
        except (InvalidSignature, ValueError):
            raise ValueError("signature") from None


def check(folder):
    """Yields (entry number, frame or None, fault or None) over the journal in `folder`."""
    paths = sorted(pathlib.Path(folder, "segments").glob("*.hfs"))
    journal, seq, prev, following, ids = None, 0, None, 0, {}
    if not paths:
        yield 0, None, f"no segments in {folder}"
    for path in paths:
        try:
            segment = Segment(path)
        except ValueError as error:
            yield seq + 1, None, str(error)
            continue
        journal = journal or segment.journal
        prev = prev or derive("handfast journal v1 genesis", journal)
        if segment.journal != journal or path.stem != f"{segment.first:020}":
            yield seq + 1, None, f"{path.name}: another journal's, or misnamed"
        if segment.first != seq + 1 or segment.prev != prev:
            yield seq + 1, None, f"{path.name}: does not continue entry {seq}"
        for at, frame, fault in segment.frames():
            if frame is None:
                yield seq + 1, None, fault
                continue
            if frame.seq != seq + 1 or frame.prev != prev:
                fault = f"{path.name} byte {at}: does not continue entry {seq}"
            elif frame.synced_through >= frame.seq:
                fault = f"{path.name} byte {at}: claims a flush of itself"
            elif following and frame.following != following - 1:
                fault = f"{path.name} byte {at}: breaks its group"
            elif frame.id in ids:
                fault = f"{path.name} byte {at}: has the id of entry {ids[frame.id]}"
            seq, prev, following = frame.seq, frame.hash, frame.following
            ids[frame.id] = seq
            yield seq, frame, fault
    if following:
        yield seq, None, "the last append is not whole"


class Staff:
    """Whose keys may sign, told by the entries themselves."""

    def __init__(self):
        self.keys, self.by_handle, self.suspended, self.opened_by = set(), {}, set(), None

    def fault(self, frame, kind, fields):
        """What is wrong with the author; takes in what the entry changes."""
        author = frame.author.hex()
        if frame.seq == 1:
            self.opened_by = author
            return None if kind == "ward" else "the first entry does not open a ward"
        if kind == "staff" and not self.keys:
            self.enrol(fields["handle"], fields["key"])
            return None if author == self.opened_by == fields["key"] else "the first keeper did not open the ward"
        wrong = None
        if author not in self.keys:
            wrong = f"author {author} is not on the staff"
        elif author in self.suspended:
            wrong = f"author {author} was suspended"
        if kind == "staff":
            self.enrol(fields["handle"], fields["key"])
        elif kind == "staff-change":
            self.change(fields)
        return wrong

    def enrol(self, handle, key):
        self.keys.add(key)
        self.by_handle[handle] = key

    def change(self, fields):
        key = self.by_handle.get(fields["handle"])
        if fields["change"] == "suspended":
            self.suspended.add(key)
        elif fields["change"] == "reinstated":
            self.suspended.discard(key)
        elif fields["change"] == "key":
            self.keys.discard(key)
            self.enrol(fields["handle"], fields["key"])


def main():
    options = argparse.ArgumentParser()
    options.add_argument("folder")
    options.add_argument("--frames", action="store_true")
    options.add_argument("--show", type=int)
    options = options.parse_args()
    faults, count, head, staff, pages = 0, 0, None, Staff(), None if options.frames else Pages()
    for seq, frame, fault in check(options.folder):
        found = [fault] if fault else []
        if frame:
            count, head = count + 1, frame.hash
        if frame and pages:
            try:
                envelope, fields = pages.payload(frame.kind, frame.kind_version, frame.encoding, frame.payload)
                wrong = staff.fault(frame, pages.kinds[frame.kind], fields)
                found += [wrong] if wrong else []
                if seq == options.show:
                    print(json.dumps({"kind": pages.kinds[frame.kind], **envelope, **fields}, indent=1, ensure_ascii=False))
            except Malformed as error:
                found.append(f"payload: {error}")
        faults += len(found)
        for each in found:
            print(f"entry {seq}: {each}")
    print(f"{count} entries, head {head.hex() if head else 'none'}, {faults} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
