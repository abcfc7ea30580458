#!/usr/bin/env python3
"""Read the payloads of a handfast journal without handfast.

The layout is not written here: it is read from the tables of docs/journal-format.md and
docs/entries.md, so whatever this script can read, those pages say. Run without arguments, it reads
every stored entry in tests/vectors/kinds/ and compares it with what stands beside it.
Python's own library is enough.
"""

import datetime
import json
import pathlib
import re
import struct
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
PAYLOAD_MAX = 65536
NUMBERS = {"u8": "<B", "u16": "<H", "u32": "<I", "u64": "<Q", "i32": "<i", "i64": "<q", "entry": "<Q"}
TIME_FROM, TIME_BEFORE, DAY = -2208988800000000, 7258118400000000, 86400000000
EPOCH = datetime.datetime(1970, 1, 1)


class Malformed(ValueError):
    """The bytes do not say what the pages demand."""


class Reader:
    """Takes values from the front of some bytes."""

    def __init__(self, data):
        self.data, self.at = data, 0

    def take(self, count):
        if count > len(self.data) - self.at:
            raise Malformed(f"byte {self.at}: {count} bytes wanted, {len(self.data) - self.at} left")
        self.at += count
        return self.data[self.at - count : self.at]

    def number(self, form):
        return struct.unpack(form, self.take(struct.calcsize(form)))[0]

    def flag(self):
        value = self.number("<B")
        if value > 1:
            raise Malformed(f"byte {self.at - 1}: {value} is neither 0 nor 1")
        return value == 1


def tables(page):
    """Heading -> rows of cells of the first table under it."""
    found = {}
    for section in re.split(r"^#+ ", page, flags=re.M)[1:]:
        heading, _, text = section.partition("\n")
        lines = [line for line in text.splitlines() if line.startswith("|")]
        rows = [[c.strip().strip("`") for c in re.split(r"(?<!\\)\|", line)[1:-1]] for line in lines[2:]]
        found.setdefault(heading.strip(), rows)
    return found


class Pages:
    """What the two pages say about types, kinds and lists."""

    def __init__(self, docs=ROOT / "docs"):
        format_page = tables((docs / "journal-format.md").read_text(encoding="utf-8"))
        entries_page = tables((docs / "entries.md").read_text(encoding="utf-8"))
        self.lists = {
            name: re.findall(r"(?:^|; )\d+ `([^`]+)`", values)
            for name, values in entries_page["Closed lists"]
        }
        self.kinds = {int(row[0]): row[1] for row in format_page["Kinds"]}
        self.fields, self.variants = {}, {}
        for heading, rows in entries_page.items():
            kind = re.fullmatch(r"(\S+) \(number \d+, version (\d+)\)", heading)
            if kind:
                self.fields[f"{kind[1]}, version {kind[2]}"] = [tuple(row[:2]) for row in rows]
        # The format page comes second: what it repeats is read from there, and so is tested.
        for heading, rows in format_page.items():
            if rows and rows[0][0] == "0" and re.fullmatch("[a-z ]+", heading):
                self.variants[heading] = [(row[1], row[2]) for row in rows]
            else:
                self.fields[heading] = [tuple(row[:2]) for row in rows]

    def read(self, kind, reader):
        """One value of the type `kind`, as JSON."""
        kind = kind.split(" × ")[0].strip()
        if kind in NUMBERS:
            return reader.number(NUMBERS[kind])
        if kind == "yes/no":
            return reader.flag()
        if kind == "text":
            try:
                return reader.take(reader.number("<Q")).decode("utf-8")
            except UnicodeDecodeError as error:
                raise Malformed(f"byte {reader.at}: not UTF-8: {error.reason}") from None
        if kind == "moment":
            moment = EPOCH + datetime.timedelta(microseconds=self.time(reader, "<q", 1))
            return moment.isoformat(timespec="microseconds") + "Z"
        if kind == "day":
            return (EPOCH + datetime.timedelta(days=self.time(reader, "<i", DAY))).date().isoformat()
        if kind.startswith("optional "):
            return self.read(kind.removeprefix("optional "), reader) if reader.flag() else None
        if kind.startswith("list of "):
            count = reader.number("<Q")
            if count > PAYLOAD_MAX:
                raise Malformed(f"byte {reader.at}: a list of {count}")
            return [self.read(kind.removeprefix("list of "), reader) for _ in range(count)]
        if kind.startswith("one of "):
            return self.pick(self.lists[kind.removeprefix("one of ")], reader)
        if re.fullmatch(r"\d+ bytes", kind):
            return reader.take(int(kind.split()[0])).hex()
        if kind in self.variants:
            return self.variant(kind, reader)
        return {name: self.read(inner, reader) for name, inner in self.fields[kind]}

    @staticmethod
    def time(reader, form, unit):
        count = reader.number(form)
        if not TIME_FROM <= count * unit < TIME_BEFORE:
            raise Malformed(f"byte {reader.at}: a time outside 1900 to 2199")
        return count

    @staticmethod
    def pick(values, reader):
        index = reader.number("<I")
        if index >= len(values):
            raise Malformed(f"byte {reader.at - 4}: value {index} of a list of {len(values)}")
        return values[index]

    def variant(self, kind, reader):
        name, fields = self.pick(self.variants[kind], reader)
        if not fields:
            return name
        if ": " not in fields:
            return {name: self.read(fields, reader)}
        each = (field.split(": ") for field in fields.split(";"))
        return {name: {field.strip(): self.read(inner, reader) for field, inner in each}}

    def payload(self, kind, version, encoding, data):
        """Envelope and fields of a payload, as JSON."""
        if encoding != 1:
            raise Malformed(f"payload encoding {encoding} is not described")
        if kind not in self.kinds or f"{self.kinds[kind]}, version {version}" not in self.fields:
            raise Malformed(f"kind {kind} version {version} is not described")
        reader = Reader(data)
        try:
            envelope = self.read("Envelope", reader)
            fields = self.read(f"{self.kinds[kind]}, version {version}", reader)
        except OverflowError:
            raise Malformed(f"byte {reader.at}: a time beyond all calendars") from None
        if reader.at != len(data):
            raise Malformed(f"{len(data) - reader.at} bytes are left over")
        return envelope, fields


def main():
    pages, agreed, faults = Pages(), 0, 0
    for path in sorted((ROOT / "tests/vectors/kinds").glob("*.json")):
        golden = json.loads(path.read_text(encoding="utf-8"))
        for case in golden["cases"]:
            data = bytes.fromhex("".join(case["payload"]))
            try:
                found = pages.payload(golden["code"], golden["version"], golden["encoding"], data)
            except Malformed as error:
                found = str(error)
            # As text, so that the order of the fields counts.
            if json.dumps(found) == json.dumps([case["envelope"], case["fields"]]):
                agreed += 1
            else:
                faults += 1
                print(f"{path.name}, {case['name']}: {found}")
    print(f"{agreed} payloads agree, {faults} do not")
    return 1 if faults or not agreed else 0


if __name__ == "__main__":
    sys.exit(main())
