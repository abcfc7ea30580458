#!/usr/bin/env python3
"""Check a handfast journal without handfast, from docs/journal-format.md alone.

Needs the PyPI packages `blake3` and `cryptography`. Usage: verify_journal.py DIR
Prints one line per fault and exits 1 if there is any; else the number of entries and the head.
"""

import pathlib
import struct
import sys

from blake3 import blake3
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

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
        at = SEGMENT_HEADER
        while at < len(self.data):
            frame = Frame(self.data, at)
            yield at, frame
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
        except InvalidSignature:
            raise ValueError("signature") from None


def check(folder):
    """Yields (entry, fault or None) over the journal in `folder`."""
    paths = sorted(pathlib.Path(folder, "segments").glob("*.hfs"))
    journal, seq, prev, following = None, 0, None, 0
    for path in paths:
        segment = Segment(path)
        journal = journal or segment.journal
        prev = prev or derive("handfast journal v1 genesis", journal)
        if segment.journal != journal or int(path.stem) != segment.first:
            yield seq + 1, None, f"{path.name}: another journal's, or misnamed"
        if segment.first != seq + 1 or segment.prev != prev:
            yield seq + 1, None, f"{path.name}: does not continue entry {seq}"
        for at, frame in segment.frames():
            fault = None
            if frame.seq != seq + 1 or frame.prev != prev:
                fault = f"{path.name} byte {at}: does not continue entry {seq}"
            elif frame.synced_through >= frame.seq:
                fault = f"{path.name} byte {at}: claims a flush of itself"
            elif following and frame.following != following - 1:
                fault = f"{path.name} byte {at}: breaks its group"
            seq, prev, following = frame.seq, frame.hash, frame.following
            yield frame.seq, frame, fault
    if following:
        yield seq, None, "the last append is not whole"


def main(folder):
    faults, count, head = 0, 0, None
    try:
        for seq, frame, fault in check(folder):
            if fault:
                faults += 1
                print(f"entry {seq}: {fault}")
            if frame:
                count, head = count + 1, frame.hash
    except ValueError as error:
        faults += 1
        print(f"after {count} good entries: {error}")
    print(f"{count} entries, head {head.hex() if head else 'none'}, {faults} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    sys.exit(main(sys.argv[1]))
