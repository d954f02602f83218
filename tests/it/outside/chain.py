"""Recomputes the hash chain of a book from the description in DEVELOPERS.md, with the standard library only.

Usage: chain.py BOOK TABLES, where TABLES has one line a table: name|kind|parent|column|key,key|column,column
Prints the number of entries and the last hash; exits 1 at the first entry that does not fit.
"""
import hashlib
import sqlite3
import struct
import sys

ENTRY = ["id", "at", "day", "seen_at", "who", "seen_by", "paper", "kind", "undoes"]


def put(tag, part):
    return tag + struct.pack(">Q", len(part)) + part


def encode(table, columns, values):
    out = put(b"T", table.encode())
    for name, value in zip(columns, values):
        if value is None:
            continue
        out += put(b"c", name.encode())
        if isinstance(value, int):
            out += put(b"i", struct.pack(">q", value))
        elif isinstance(value, float):
            out += put(b"r", struct.pack(">d", value))
        elif isinstance(value, str):
            out += put(b"t", value.encode())
        else:
            out += put(b"b", value)
    return out


book = sqlite3.connect("file:%s?mode=ro" % sys.argv[1], uri=True)
tables = [line.rstrip("\n").split("|") for line in open(sys.argv[2])]
brought, voided = {}, {}
for n, (name, kind, parent, column, key, columns) in enumerate(tables):
    keys, cols = key.split(","), columns.split(",")
    if kind == "child":
        source = f"SELECT p.entry_id, {','.join('t.' + c for c in keys + cols)} FROM {name} t JOIN {parent} p ON p.id = t.{column}"
    else:
        source = f"SELECT t.entry_id, {','.join('t.' + c for c in keys + cols)} FROM {name} t"
    for row in book.execute(source):
        at = (n, row[1 : 1 + len(keys)])
        brought.setdefault(row[0], []).append((at, encode(name, cols, row[1 + len(keys) :])))
    if kind == "fact":
        for row in book.execute(f"SELECT void_by, {','.join(keys)} FROM {name} WHERE void_by IS NOT NULL"):
            part = b"V" + name.encode() + b"".join(b"k" + struct.pack(">q", k) for k in row[1:])
            voided.setdefault(row[0], []).append(((n, row[1:]), part))

before, count = bytes(32), 0
for row in book.execute(f"SELECT hash, {','.join(ENTRY)} FROM entry ORDER BY id"):
    parts = [p for _, p in sorted(brought.get(row[1], []))] + [p for _, p in sorted(voided.get(row[1], []))]
    sha = hashlib.sha256(before + encode("entry", ENTRY, row[1:]))
    for part in parts:
        sha.update(struct.pack(">Q", len(part)) + part)
    if sha.digest() != row[0]:
        sys.exit(f"entry {row[1]} does not fit")
    before, count = row[0], count + 1
print(count, before.hex())
