#!/usr/bin/env python3
"""Check a handfast journal without handfast, from docs/journal-format.md alone; who may write
what is read from docs/rights.md.

Needs the PyPI packages `blake3` and `cryptography`.

    verify_journal.py DIR            segments, chain, hashes, signatures, payloads, authors
    verify_journal.py --frames DIR   the same without payloads and authors
    verify_journal.py --show N DIR   entry N as JSON, after the check

Prints one line per fault, each naming the entry; whether the `flushed` note vouches for the end, if
it does not; then the number of entries and the head. Exits 1 if there is any fault, 4 if what is there
is sound and its end is not vouched for. One thing is left to the program: OpenSSL, which checks the signatures here, lets
through some odd keys and encodings that the page says to refuse.
"""

import argparse
import datetime
import json
import pathlib
import struct
import sys

from blake3 import blake3
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from payload import EPOCH, ROOT, TIME_BEFORE, TIME_FROM, Malformed, Pages, tables

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
        if not TIME_FROM <= self.recorded_at < TIME_BEFORE:
            raise ValueError(f"recorded at {self.recorded_at}, outside 1900 to 2199")
        self.seal_key, self.seal_nonce, self.bound = head[144:160], head[160:184], head[:184]
        if reserved != bytes(5) or self.sealing > 1 or (not self.sealing and head[144:184] != bytes(40)):
            raise ValueError("fields that format 1 leaves zero")
        if self.sealing and (payload_len < 16 or self.seal_key == bytes(16) or self.seal_nonce == bytes(24)):
            raise ValueError("no sealed payload")
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


def journal_id(folder):
    """The journal id of the first segment that can be read."""
    for path in sorted(pathlib.Path(folder, "segments").glob("*.hfs")):
        try:
            return Segment(path).journal
        except ValueError:
            continue
    return bytes(16)


def end(folder, journal, count, head):
    """Why nothing vouches for the end of the journal, or None: the `flushed` note names the head."""
    try:
        lines = pathlib.Path(folder, "flushed").read_bytes().split(b"\n")
    except OSError:
        return "there is no flushed note"
    if len(lines) != 3 or lines[2]:
        return "the flushed note cannot be read"
    told = derive("handfast journal v1 flushed note", journal.hex().encode() + b" " + lines[0])
    if lines[1] != told[:8].hex().encode():
        return "the flushed note is another journal's, or was altered"
    if lines[0] != f"{count} {head.hex()}".encode():
        return f"the flushed note names entry {lines[0].decode(errors='replace')}"
    return None


class Rights:
    """The table of docs/rights.md: kind -> roles that may write it, and whether it is amended."""

    def __init__(self, docs=ROOT / "docs"):
        page = tables((docs / "rights.md").read_text(encoding="utf-8"))
        roles, *rows = page["Who may write what"]
        roles = roles[2:-1]
        steps = page["Who may take which step of a handover"]
        self.steps = {row[0]: {r for r, cell in zip(roles, row[1:]) if cell == "yes"} for row in steps}
        self.writers = {row[1]: {r for r, cell in zip(roles, row[2:]) if cell == "yes"} for row in rows}
        self.amended = {row[1]: row[-1] for row in rows}


class Staff:
    """Whose keys may sign and what they may write, told by the entries themselves."""

    def __init__(self, rights):
        self.rights, self.opened_by = rights, None
        self.keys, self.handles, self.roles, self.suspended = {}, {}, {}, set()
        self.entries, self.handovers, self.settled = {}, {}, set()

    def fault(self, frame, kind, envelope, fields):
        """What is wrong with the author; takes in what the entry changes."""
        wrong = self.founding(frame, kind, envelope, fields) if frame.seq <= 2 else self.author(frame, kind, envelope)
        wrong = wrong or self.rules(frame, kind, envelope, fields)
        if kind == "staff":
            self.enrol(fields)
        elif kind == "staff-change":
            self.change(fields)
        elif kind == "handover":
            self.handovers[frame.seq] = (self.handles.get(frame.author.hex()), fields["sheet"])
        self.entries[frame.seq] = (kind, self.handles.get(frame.author.hex()))
        return wrong

    def sealed(self, frame, kind):
        """The same of an entry whose payload is sealed: what it says is not judged, only who says it."""
        handle = self.handles.get(frame.author.hex())
        role = self.roles.get(handle)
        self.entries[frame.seq] = (kind, handle)
        return self.author(frame, kind, {"role": role})

    def founding(self, frame, kind, envelope, fields):
        author = frame.author.hex()
        if envelope["role"] != "keeper" or kind != ("ward", "staff")[frame.seq - 1]:
            return "the first two entries do not found a ward"
        if frame.seq == 1:
            self.opened_by = author
        elif not author == self.opened_by == fields["key"] or fields["role"] != "keeper":
            return "the first keeper did not open the ward"
        return None

    def author(self, frame, kind, envelope):
        author = frame.author.hex()
        handle = self.handles.get(author)
        if handle is None:
            return f"author {author} is not on the staff"
        if self.keys[handle] != author:
            return f"{handle} had another key by then"
        if handle in self.suspended:
            return f"{handle} was suspended"
        if envelope["role"] != self.roles[handle]:
            return f"{handle} was {self.roles[handle]}, and it says {envelope['role']}"
        if self.roles[handle] not in self.rights.writers[kind]:
            return f"{handle} was {self.roles[handle]}, who may not write {kind}"
        return None

    def rules(self, frame, kind, envelope, fields):
        recorded = EPOCH + datetime.timedelta(microseconds=frame.recorded_at)
        if envelope["occurred_at"] > recorded.isoformat(timespec="microseconds") + "Z":
            return "happened after it was recorded"
        handle = self.handles.get(frame.author.hex())
        if kind == "staff" and frame.seq > 2 and fields["handle"] in self.keys:
            return f"{fields['handle']} is taken"
        if kind == "staff-change" and fields["handle"] not in self.keys:
            return f"{fields['handle']} is not on the staff"
        if kind == "amendment":
            return self.amends(frame, envelope, fields, handle)
        if kind == "handover-step" and self.roles.get(handle) not in self.rights.steps[fields["step"]]:
            return f"{handle} was {self.roles.get(handle)}, who may not say {fields['step']} of a handover"
        if kind == "handover-step" and fields["step"] == "accepted":
            giver, sheet = self.handovers.get(fields["handover"], (None, None))
            if sheet is None or fields["digest"] != sheet["digest"]:
                return "accepts a sheet that was not prepared"
            if giver == handle:
                return "accepts what they gave"
        return None

    def amends(self, frame, envelope, fields, handle):
        if fields["target"] >= frame.seq:
            return "amends what was not there yet"
        kind, writer = self.entries.get(fields["target"], (None, handle))
        if kind and self.rights.amended[kind] == "never":
            return f"amends {kind}"
        if writer != handle and envelope["role"] != "sister":
            return f"amends what {writer} wrote"
        return None

    def enrol(self, fields):
        if fields["handle"] not in self.keys:
            self.roles[fields["handle"]] = fields["role"]
            self.give(fields["handle"], fields["key"])

    def give(self, handle, key):
        self.keys[handle] = key
        self.handles.setdefault(key, handle)

    def change(self, fields):
        handle = fields["handle"]
        if handle not in self.keys:
            return
        if fields["change"] == "suspended":
            self.suspended.add(handle)
        elif fields["change"] == "reinstated":
            self.suspended.discard(handle)
        elif fields["change"] == "key":
            self.give(handle, fields["key"])
        else:
            self.roles[handle] = fields["role"] or self.roles.get(handle)


def main():
    options = argparse.ArgumentParser()
    options.add_argument("folder")
    options.add_argument("--frames", action="store_true")
    options.add_argument("--show", type=int)
    options = options.parse_args()
    sealed, faults, count, head, staff, pages = 0, 0, 0, None, Staff(Rights()), None if options.frames else Pages()
    for seq, frame, fault in check(options.folder):
        found = [fault] if fault else []
        if frame:
            count, head = count + 1, frame.hash
        if frame and frame.sealing:
            sealed += 1
            wrong = pages and staff.sealed(frame, pages.kinds[frame.kind])
            found += [wrong] if wrong else []
        elif frame and pages:
            try:
                envelope, fields = pages.payload(frame.kind, frame.kind_version, frame.encoding, frame.payload)
                wrong = staff.fault(frame, pages.kinds[frame.kind], envelope, fields)
                found += [wrong] if wrong else []
                if seq == options.show:
                    print(json.dumps({"kind": pages.kinds[frame.kind], **envelope, **fields}, indent=1, ensure_ascii=False))
            except Malformed as error:
                found.append(f"payload: {error}")
        faults += len(found)
        for each in found:
            print(f"entry {seq}: {each}")
    open_end = end(options.folder, journal_id(options.folder), seq, head) if head else None
    if open_end:
        print(f"the end is not vouched for: {open_end}")
    print(f"{count} entries, head {head.hex() if head else 'none'}, {faults} faults" + (f", {sealed} sealed" if sealed else ""))
    return 1 if faults else 4 if open_end else 0


if __name__ == "__main__":
    sys.exit(main())
