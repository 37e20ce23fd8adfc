"""Checks the shipped PDF/A-3b file: part-3 marks, tags, bookmarks, language, and the record attached byte for byte.

    python pdf_check.py handover.pdf record.jsonl
    python pdf_check.py --inline a1b.pdf inlined.pdf

The second form writes a copy in which each bookmark holds its place itself instead of pointing at it. PDF allows both
(ISO 32000-1, 7.3.10); PDFBox Preflight 2.0.27 does not follow the pointer and calls the place unreadable.
"""

import sys

import pikepdf


def main(path, record):
    with pikepdf.open(path) as pdf:
        root = pdf.Root
        with pdf.open_metadata() as meta:
            marks = (meta.get("pdfaid:part"), meta.get("pdfaid:conformance"))
            assert marks == ("3", "B"), f"PDF/A marks are {marks}"
            assert meta.get("dc:title"), "no title"
        assert root.MarkInfo.Marked, "not marked as tagged"
        assert len(tags(root.StructTreeRoot)) > 100, "no tags to speak of"
        assert str(root.Lang) == "en", f"language is {root.get('/Lang')}"
        with pdf.open_outline() as outline:
            assert len(outline.root) >= 5, f"{len(outline.root)} bookmarks"
        files = list(pdf.attachments)
        assert files == ["record.jsonl"], f"attached: {files}"
        attached = pdf.attachments["record.jsonl"].get_file().read_bytes()
        assert attached == open(record, "rb").read(), "the attached record is not the pack's"
        assert [str(one.AFRelationship) for one in root.AF] == ["/Source"], "the record is not marked as the source"
        figures = [tag for tag in tags(root.StructTreeRoot) if tag.get("/S") == "/Figure"]
        silent = [tag for tag in figures if not str(tag.get("/Alt", ""))]
        assert figures and not silent, f"{len(silent)} of {len(figures)} figures have no description"
        print(f"PDF/A-3B marks, {len(tags(root.StructTreeRoot))} tags, {len(figures)} figures described, "
              f"{len(pdf.pages)} pages, record attached whole")


def inline(path, to):
    with pikepdf.open(path) as pdf:
        entries, seen = [pdf.Root.Outlines.First], 0
        while entries:
            entry = entries.pop()
            entry.Dest = pikepdf.Array(list(entry.Dest))
            seen += 1
            entries += [entry[key] for key in ("/First", "/Next") if key in entry]
        pdf.save(to, object_stream_mode=pikepdf.ObjectStreamMode.disable)
        print(f"{seen} bookmarks hold their own place")


def tags(element):
    """Every structure element under one."""
    found, open_ones = [], [element]
    while open_ones:
        kids = open_ones.pop().get("/K")
        for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
            if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
                found.append(kid)
                open_ones.append(kid)
    return found


if __name__ == "__main__":
    inline(*sys.argv[2:]) if sys.argv[1] == "--inline" else main(*sys.argv[1:])
