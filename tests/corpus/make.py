#!/usr/bin/env python3
"""Makes the odd files of this folder: python3 make.py  (needs openpyxl and xlwt, any recent version).

One small file for each way in which a report can crash, hang, lie or lose. The same bytes come out
on every run. What is expected of each file stands in tests/all/read/corpus.rs.
"""

import io
import struct
import zipfile
from pathlib import Path

import openpyxl
import xlwt

HERE = Path(__file__).parent
EARLIEST = (1980, 1, 1, 0, 0, 0)


# ---------------------------------------------------------------- zipped workbooks

def pack(name, parts, method=zipfile.ZIP_DEFLATED):
    """A zip of the parts, without a clock in it."""
    with zipfile.ZipFile(HERE / name, "w", method) as package:
        for part, content in parts.items():
            info = zipfile.ZipInfo(part, EARLIEST)
            info.compress_type = method
            package.writestr(info, content)


def parts_of(book):
    """The parts of an openpyxl workbook, as a dict."""
    held = io.BytesIO()
    book.save(held)
    with zipfile.ZipFile(held) as package:
        return {n: package.read(n) for n in package.namelist() if not n.startswith("docProps")}


def save(name, book, **edits):
    """Saves an openpyxl workbook; edits replace text in its first sheet: {old: new}."""
    parts = parts_of(book)
    for old, new in edits.get("sheet", {}).items():
        text = parts["xl/worksheets/sheet1.xml"].decode()
        assert old in text, (name, old, text)
        parts["xl/worksheets/sheet1.xml"] = text.replace(old, new).encode()
    for part, content in edits.get("parts", {}).items():
        parts[part] = content
    pack(name, parts)


def book_of(rows, title="Results"):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = title
    for row in rows:
        sheet.append(row)
    return book


TABLE = [["Sample", "pH", "Ca"], ["Well 1", 7.5, 80], ["Well 2", 7.25, 95.5]]

TYPES = b"""<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Default Extension="xml" ContentType="application/xml"/>
<Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>
</Types>"""
RELS = b"""<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/>
</Relationships>"""
BOOK = b"""<?xml version="1.0" encoding="UTF-8"?>
<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships">
<sheets><sheet name="Results" sheetId="1" r:id="r1"/></sheets></workbook>"""
BOOK_RELS = b"""<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/>
</Relationships>"""
SHEET = '<?xml version="1.0" encoding="UTF-8"?>\n<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">{}</worksheet>'


def by_hand(rows, **more):
    """The parts of a workbook whose sheet data is given as XML."""
    parts = {
        "[Content_Types].xml": TYPES,
        "_rels/.rels": RELS,
        "xl/workbook.xml": BOOK,
        "xl/_rels/workbook.xml.rels": BOOK_RELS,
        "xl/worksheets/sheet1.xml": SHEET.format(f"<sheetData>{rows}</sheetData>").encode(),
    }
    parts.update(more.get("parts", {}))
    return parts


def text_cell(at, text):
    return f'<c r="{at}" t="inlineStr"><is><t>{text}</t></is></c>'


def xlsx():
    book = book_of([])
    for r, row in enumerate(TABLE):
        for c, value in enumerate(row):
            book.active.cell(5 + r, 3 + c, value)
    save("table-at-c5.xlsx", book)

    pack("far-corner.xlsx", by_hand(
        f'<row r="1">{text_cell("A1", "near")}</row><row r="1048576"><c r="XFD1048576"><v>7</v></c></row>'))
    pack("beyond-the-sheet.xlsx", by_hand(
        f'<row r="1">{text_cell("A1", "near")}</row><row r="2000000"><c r="A2000000"><v>7</v></c><c r="ZZZ2"><v>8</v></c></row>'))
    pack("no-addresses.xlsx", by_hand("<row><c><v>1</v></c><c><v>2</v></c></row><row><c><v>3</v></c></row>"))

    strings = '<?xml version="1.0"?><sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" {}><si><t>Ca</t></si></sst>'
    shared = '<row r="1"><c r="A1" t="s"><v>0</v></c></row>'
    pack("huge-unique-count.xlsx", by_hand(shared, parts={
        "xl/sharedStrings.xml": strings.format('uniqueCount="9000000000000"').encode()}))
    pack("two-unique-counts.xlsx", by_hand(shared, parts={
        "xl/sharedStrings.xml": strings.format('uniqueCount="9000000000000"').replace("<sst", '<!-- uniqueCount="1" --><sst').encode()}))
    two_sheets = BOOK.replace(b'</sheets>', b'<sheet name="Again" sheetId="2" r:id="r2"/></sheets>')
    one_part = BOOK_RELS.replace(b'</Relationships>', b'<Relationship Id="r2" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/Sheet1.xml"/>\n</Relationships>')
    pack("one-part-two-sheets.xlsx", by_hand("<row><c><v>1</v></c></row>", parts={
        "xl/workbook.xml": two_sheets, "xl/_rels/workbook.xml.rels": one_part}))
    pack("string-index-beyond.xlsx", by_hand(
        '<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>99</v></c><c r="C1"><v>3</v></c></row>',
        parts={"xl/sharedStrings.xml": strings.format('uniqueCount="1"').encode()}))
    pack("huge-shared-formula.xlsx", by_hand(
        '<row r="1"><c r="A1"><f t="shared" ref="A1:A2" si="999999999999">1+1</f></c><c r="B1"><v>0</v></c></row>'))

    row = f'<row r="1">{text_cell("A1", "pH")}{{}}<c r="C1"><v>3</v></c></row>'
    pack("spill-error.xlsx", by_hand(row.format('<c r="B1" t="e"><v>#SPILL!</v></c>')))
    pack("odd-child.xlsx", by_hand(row.format("<c r=\"B1\"><extLst/><v>5</v></c>")))
    pack("bad-number.xlsx", by_hand(row.format('<c r="B1" t="n"><v>seven</v></c>')))
    pack("broken-xml.xlsx", by_hand(row.format('<c r="B1"><v>2</v></c></oops') ))
    pack("formula-errors.xlsx", by_hand(
        f'<row r="1">{text_cell("A1", "Ca")}<c r="B1" t="e"><v>#DIV/0!</v></c><c r="C1" t="e"><v>#N/A</v></c>{text_cell("D1", "#REF!")}</row>'))
    pack("uncalculated-formula.xlsx", by_hand(
        '<row r="1"><c r="A1"><v>2</v></c><c r="B1"><f>A1*2</f></c><c r="C1"><f>A1*3</f><v>6</v></c><c r="D1"><f>A1</f><v></v></c></row>'))
    pack("all-zero-formulas.xlsx", by_hand(
        '<row r="1"><c r="A1"><v>2</v></c><c r="B1"><f>A1*2</f><v>0</v></c><c r="C1"><f>A1*3</f><v>0</v></c><c r="D1"><f>A1</f><v>0</v></c></row>'))
    pack("blank-formula-result.xlsx", by_hand(
        '<row r="1"><c r="A1"><v>2</v></c><c r="B1" t="str"><f>""</f><v></v></c><c r="C1" s="0"/></row>'))
    pack("long-cell.xlsx", by_hand(f'<row r="1">{text_cell("A1", "x" * 33000)}<c r="B1"><v>1</v></c></row>'))
    pack("white-space.xlsx", by_hand(
        '<row r="1"><c r="A1" t="inlineStr"><is><t xml:space="preserve">  Na  </t></is></c>'
        '<c r="B1" t="inlineStr"><is><t>\u00a0Na\u00a0</t></is></c><c r="C1" t="inlineStr"><is><t xml:space="preserve">   </t></is></c></row>'))
    pack("repeated-cell.xlsx", by_hand('<row r="1"><c r="A1"><v>1</v></c><c r="A1"><v>2</v></c></row>'))

    pack("placeless-unreadable.xlsx", by_hand(
        '<row><c><v>1</v></c><c t="n"><v>x</v></c><c><v>3</v></c></row><row><c><v>4</v></c><c><v>5</v></c><c><v>6</v></c></row>'))
    pack("value-in-pieces.xlsx", by_hand('<row r="1"><c r="A1"><v>1<!-- a comment -->2</v></c></row>'))
    pack("index-with-spaces.xlsx", by_hand('<row r="1"><c r="A1" t="s"><v>\n 1\n</v></c></row>', parts={
        "xl/sharedStrings.xml": strings.format("").replace("</sst>", "<si><t>Mg</t></si></sst>").encode()}))
    of_strings = b'<Relationship Id="r9" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings" Target="strings.xml"/>'
    pack("strings-elsewhere.xlsx", by_hand(shared, parts={
        "xl/sharedStrings.xml": strings.format("").encode(),
        "xl/strings.xml": strings.format("").replace("Ca", "Mg").encode(),
        "xl/_rels/workbook.xml.rels": BOOK_RELS.replace(b"</Relationships>", of_strings + b"</Relationships>")}))
    pack("namesakes.xlsx", by_hand("<row><c><v>1</v></c></row>", parts={
        "xl/workbook.xml": two_sheets.replace(b"Again", b"Results"),
        "xl/_rels/workbook.xml.rels": one_part.replace(b"worksheets/Sheet1", b"worksheets/sheet2"),
        "xl/worksheets/sheet2.xml": SHEET.format("<sheetData><row><c><v>2</v></c></row></sheetData>").encode()}))
    pack("names-of-two-cases.xlsx", by_hand("<row><c><v>1</v></c></row>", parts={
        "xl/worksheets/SHEET1.xml": SHEET.format("<sheetData><row><c><v>2</v></c></row></sheetData>").encode()}))
    pack("part-twice.xlsx", by_hand("<row><c><v>1</v></c></row>", parts={
        "xl/worksheets/sheet2.xml": SHEET.format("<sheetData><row><c><v>2</v></c></row></sheetData>").encode()}))
    twice = (HERE / "part-twice.xlsx").read_bytes()
    (HERE / "part-twice.xlsx").write_bytes(twice.replace(b"sheet2.xml", b"sheet1.xml"))
    run = '<r><rPr>{}</rPr><t>{}</t></r>'
    raised = run.format("<b/>", "7.5") + run.format('<vertAlign val="superscript"/>', "1")
    pack("raised-digit.xlsx", by_hand(shared, parts={
        "xl/sharedStrings.xml": strings.format("").replace("<t>Ca</t>", raised).encode()}))
    pack("raised-digit-inline.xlsx", by_hand(f'<row><c t="inlineStr"><is>{raised}</is></c></row>'))
    number = "<row><c><v>1</v></c></row>"
    # The end of the package states one entry less than there are.
    end = twice.rindex(b"PK\5\6")
    entries = struct.pack("<H", struct.unpack_from("<H", twice, end + 8)[0] - 1) * 2
    (HERE / "one-entry-too-many.xlsx").write_bytes(
        (twice[:end + 8] + entries + twice[end + 12:]).replace(b"sheet2.xml", b"sheet1.xml"))
    pack("changed-byte.xlsx", by_hand(number), zipfile.ZIP_STORED)
    stored = (HERE / "changed-byte.xlsx").read_bytes()
    (HERE / "changed-byte.xlsx").write_bytes(stored.replace(b"<v>1<", b"<v>9<"))
    pack("result-before-formula.xlsx", by_hand("<row><c><v>1</v><f>A2</f></c></row>"))
    pack("value-of-inline-text.xlsx", by_hand('<row><c t="inlineStr"><v>1</v></c></row>'))
    pack("cells-begin-twice.xlsx", by_hand(f"{number}</sheetData><sheetData>{number}"))
    pack("string-index-too-long.xlsx", by_hand('<row><c t="s"><v>99999999999999999999</v></c></row>', parts={
        "xl/sharedStrings.xml": strings.format("").encode()}))
    book = book_of([["Sample", "Ca"], ["Well 1", 7500]])
    book.active["B2"].number_format = "0.0,"
    save("shown-in-thousands.xlsx", book)

    book = book_of([["Sample", "Moisture", "Nitrate", "Lead", "Sulfate", "Zinc", "Sum"],
                    ["Well 1", 0.125, 0.05, 0.5, 12.5, 0, 0]])
    formats = {"B2": "0.0%", "C2": '"<"0.00', "D2": '0.00" mg/L"', "E2": "0.00 mg/L", "F2": '0.00;-0.00;"n.d."', "G2": "0;-0;;@"}
    for at, code in formats.items():
        book.active[at].number_format = code
    save("number-formats.xlsx", book)

    book = book_of([["Sample", "Sampled", "Time"], ["Well 1", 45292, 0.5]])
    book.active["B2"].number_format = "yyyy-mm-dd"
    book.active["C2"].number_format = "hh:mm"
    save("date-1900.xlsx", book)
    parts = parts_of(book)
    parts["xl/workbook.xml"] = parts["xl/workbook.xml"].replace(b"<workbookPr", b'<workbookPr date1904="1"')
    assert b"date1904" in parts["xl/workbook.xml"]
    pack("date-1904.xlsx", parts)
    book = book_of([["Leap", "After", "Far"], [60, 61, 99999999]])
    for at in ("A2", "B2", "C2"):
        book.active[at].number_format = "dd.mm.yyyy"
    save("date-leap-bug.xlsx", book)

    book = book_of(TABLE)
    book.create_sheet("Hidden").append(["old", 1])
    book["Hidden"].sheet_state = "hidden"
    book.create_sheet("Very hidden").append(["older", 2])
    book["Very hidden"].sheet_state = "veryHidden"
    save("hidden-sheets.xlsx", book)

    book = book_of([["Cations", None, None, "Anions"], ["Ca", "Mg", "Na", "Cl"], [80, 12, 9, 30]])
    book.active.merge_cells("A1:C1")
    book.active.merge_cells("D1:E1")
    save("merged.xlsx", book)

    book = book_of(TABLE)
    book.create_chartsheet("Chart")
    save("chart-sheet.xlsx", book)

    save("two-headings-alike.xlsx", book_of([["Sample", "Ca", "Ca", "ca"], ["Well 1", 1, 2, 3]]))
    plain = book_of(TABLE)
    save("xlsx-named.xls", plain)
    save("xlsx-named.csv", plain)
    whole = (HERE / "xlsx-named.xls").read_bytes()
    (HERE / "truncated.xlsx").write_bytes(whole[: len(whole) // 2])
    (HERE / "only-a-signature.xlsx").write_bytes(b"PK\x03\x04")

    texts = strings.format("").encode()
    pack("ways-with-steps.xlsx", by_hand(shared, parts={
        "_rels/.rels": RELS.replace(b'"xl/', b'"./xl/'),
        "xl/texts/all.xml": texts,
        "xl/_rels/workbook.xml.rels": BOOK_RELS.replace(b"worksheets/", b"../xl/./worksheets\\").replace(
            b"</Relationships>", of_strings.replace(b"strings.xml", b"/xl/texts/all.xml") + b"</Relationships>")}))
    wide = {name: b"\xff\xfe" + part.replace(b"UTF-8", b"UTF-16").decode().encode("utf-16-le")
            for name, part in by_hand(shared, parts={"xl/sharedStrings.xml": texts}).items()}
    pack("utf-16-parts.xlsx", wide)
    latin = by_hand(f'<row r="1">{text_cell("A1", "µg/L")}</row>')
    latin["xl/worksheets/sheet1.xml"] = latin["xl/worksheets/sheet1.xml"].decode().replace("UTF-8", "ISO-8859-1").encode("latin-1")
    pack("latin-1-part.xlsx", latin)
    pack("behind-a-letter.xlsx", by_hand(number))
    pack("two-ways.xlsx", by_hand(number, parts={
        "xl/worksheets/sheet2.xml": SHEET.format("<sheetData><row><c><v>2</v></c></row></sheetData>").encode(),
        "xl/_rels/workbook.xml.rels": one_part.replace(b"worksheets/Sheet1", b"worksheets/sheet2").replace(b'"r2"', b'"r1"')}))
    one = (HERE / "behind-a-letter.xlsx").read_bytes()
    (HERE / "behind-a-letter.xlsx").write_bytes(b"From: the laboratory\r\n\r\n" + one)
    (HERE / "two-packages.xlsx").write_bytes(one + one)
    book = book_of(TABLE)
    book.active.row_dimensions[2].hidden = True
    book.active.column_dimensions["C"].hidden = True
    book.active.column_dimensions["F"].hidden = True
    save("hidden-lines.xlsx", book)
    book = book_of(TABLE)
    for at in ("A3", "C2"):
        book.active[at].font = openpyxl.styles.Font(strike=True)
    save("struck-out.xlsx", book)
    struck_run = run.format("<strike/>", "80") + run.format('<strike val="0"/>', "90")
    pack("struck-out-in-part.xlsx", by_hand(f'<row><c t="inlineStr"><is>{struck_run}</is></c></row>'))

    # Unfolds to 160 MB of strings, and a sheet of 600 MB: neither is ever held.
    pack("bomb-strings.xlsx", by_hand(shared, parts={
        "xl/sharedStrings.xml": strings.format("").replace("Ca", "C" * (160 << 20)).encode()}))
    pack("bomb-nested.xlsx", by_hand('<row r="1"><c r="A1"><v>1</v></c></row>', parts={
        "xl/media/inner.zip": (HERE / "bomb-strings.xlsx").read_bytes()}))
    lying = bytearray((HERE / "bomb-strings.xlsx").read_bytes())
    size = struct.pack("<I", len(strings.format("")) - 2 + (160 << 20))
    assert lying.count(size) == 2
    (HERE / "bomb-that-lies.xlsx").write_bytes(lying.replace(size, struct.pack("<I", 1000)))

    pack("not-a-workbook.xlsx", {"readme.txt": b"hello"})
    pack("word.xlsx", {"[Content_Types].xml": b"<Types/>", "word/document.xml": b"<document/>"})
    pack("no-sheet-part.xlsx", {k: v for k, v in by_hand("").items() if "sheet1" not in k})


# ---------------------------------------------------------------- xlsb

def record(kind, data=b""):
    head = bytes([kind]) if kind < 0x80 else bytes([kind & 0x7F | 0x80, kind >> 7])
    size, length = len(data), b""
    while True:
        length += bytes([size & 0x7F | (0x80 if size > 0x7F else 0)])
        size >>= 7
        if not size:
            return head + length + data


def wide(text):
    return struct.pack("<I", len(text)) + text.encode("utf-16-le")


def xlsb():
    def cell(col):
        return struct.pack("<II", col, 0)

    rels = BOOK_RELS.replace(b"sheet1.xml", b"sheet1.bin")
    parts = {
        "[Content_Types].xml": TYPES.replace(b"workbook.xml", b"workbook.bin"),
        "_rels/.rels": RELS.replace(b"workbook.xml", b"workbook.bin"),
        "xl/workbook.bin": record(0x83) + record(0x8F) + record(
            0x9C, struct.pack("<II", 0, 1) + wide("r1") + wide("Results")) + record(0x90) + record(0x84),
        "xl/_rels/workbook.bin.rels": rels,
        "xl/sharedStrings.bin": record(0x9F, struct.pack("<II", 2, 2))
        + b"".join(record(0x13, b"\0" + wide(t)) for t in ("Sample", "pH")) + record(0xA0),
    }

    def sheet(*cells):
        return (record(0x81) + record(0x94, struct.pack("<IIII", 0, 1, 0, 2)) + record(0x91)
                + b"".join(cells) + record(0x92) + record(0x82))

    def row(n):
        return record(0x00, struct.pack("<I", n) + bytes(13))

    heading = [row(0), record(0x07, cell(0) + struct.pack("<I", 0)), record(0x07, cell(1) + struct.pack("<I", 1))]
    value = [row(1), record(0x06, cell(0) + wide("Well 1")), record(0x05, cell(1) + struct.pack("<d", 7.5))]
    pack("plain.xlsb", parts | {"xl/worksheets/sheet1.bin": sheet(*heading, *value)})
    odd = [record(0x07, cell(2) + struct.pack("<I", 77)), record(0x03, cell(3) + b"\x99"), record(0x05, cell(4) + struct.pack("<d", 1))]
    pack("odd-cells.xlsb", parts | {"xl/worksheets/sheet1.bin": sheet(*heading, *value, *odd)})
    pack("far-corner.xlsb", parts | {"xl/worksheets/sheet1.bin": sheet(
        *heading, row(1_048_575), record(0x05, cell(16_383) + struct.pack("<d", 7)))})
    def styled(col, style, value):
        return record(0x05, struct.pack("<II", col, style) + struct.pack("<d", value))

    codes = ['"<"0.00', "0.0,", '0.00" mmol/L"']
    styles = (record(0x267, struct.pack("<I", len(codes)))
              + b"".join(record(0x2C, struct.pack("<H", 164 + i) + wide(code)) for i, code in enumerate(codes))
              + record(0x268) + record(0x269, struct.pack("<I", 5))
              + b"".join(record(0x2F, struct.pack("<HH", 0, i) + bytes(12)) for i in (0, 164, 165, 166, 9)) + record(0x26A))
    seen = [row(1), record(0x06, cell(0) + wide("Well 1"))] + [
        styled(1 + i, i, value) for i, value in enumerate((7.5, 0.05, 7500, 2.5, 0.125))]
    pack("number-formats.xlsb", parts | {"xl/styles.bin": styles, "xl/worksheets/sheet1.bin": sheet(*heading, *seen)})
    short = record(0x05, cell(1))
    pack("cell-without-value.xlsb", parts | {"xl/worksheets/sheet1.bin": sheet(*heading, *value[:2], row(2), short)})
    no_formula = struct.pack("<HII", 0, 0, 0)
    fonts = b"".join(record(0x2B, struct.pack("<HHHHH", 220, flags, 400, script, 0)) for flags, script in ((0, 0), (0, 1), (8, 0)))
    rich = b"".join(record(0x13, b"\1" + wide(text) + struct.pack("<I", 1) + struct.pack("<HH", at, font))
                    for text, at, font in (("7.51", 3, 1), ("8090", 0, 2)))
    shared = record(0x9F, struct.pack("<II", 2, 2)) + rich + record(0xA0)
    index = [record(0x07, cell(col) + struct.pack("<I", col)) for col in range(2)]
    pack("raised-digit.xlsb", parts | {"xl/styles.bin": fonts + record(0x269, struct.pack("<I", 1)) + record(0x2F, bytes(16)) + record(0x26A), "xl/sharedStrings.bin": shared, "xl/worksheets/sheet1.bin": sheet(row(0), *index)})
    pack("way-from-root.xlsb", parts | {
        "xl/_rels/workbook.bin.rels": rels.replace(b"worksheets/", b"/xl/Worksheets/"), "xl/worksheets/sheet1.bin": sheet(*heading, *value)})
    pack("failed-formula.xlsb", parts | {"xl/worksheets/sheet1.bin": sheet(
        *heading, *value[:2], record(0x0B, cell(1) + b"\x07" + no_formula))})
    pack("short-cell.xlsb", parts | {"xl/worksheets/sheet1.bin": sheet(
        *heading, *value[:2], record(0x10, bytes(4) + struct.pack("<d", 7.5)))})
    pack("row-beyond.xlsb", parts | {"xl/worksheets/sheet1.bin": sheet(*heading, row(2_000_000), value[1], *value)})
    pack("truncated-sheet.xlsb", parts | {"xl/worksheets/sheet1.bin": sheet(*heading, *value)[:-12]})


# ---------------------------------------------------------------- ods

ODS_TYPE = b"application/vnd.oasis.opendocument.spreadsheet"
ODS = """<?xml version="1.0" encoding="UTF-8"?>
<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0" xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0">
<office:automatic-styles><style:style style:name="off" style:family="table"><style:table-properties table:display="false"/></style:style><style:style style:name="up" style:family="text"><style:text-properties style:text-position="super 58%"/></style:style></office:automatic-styles>
<office:body><office:spreadsheet>{}</office:spreadsheet></office:body></office:document-content>"""
MANIFEST = b"""<?xml version="1.0" encoding="UTF-8"?>
<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"><manifest:file-entry manifest:full-path="/"/>{}</manifest:manifest>"""


def ods_of(name, tables, manifest=b""):
    pack(name, {
        "mimetype": ODS_TYPE,
        "content.xml": ODS.format(tables).encode(),
        "META-INF/manifest.xml": MANIFEST.replace(b"{}", manifest),
    })


def ods():
    def text(t):
        return f'<table:table-cell office:value-type="string"><text:p>{t}</text:p></table:table-cell>'

    def number(n, kind="float", more=""):
        return f'<table:table-cell office:value-type="{kind}" office:value="{n}"{more}/>'

    def row(*cells, more=""):
        return f"<table:table-row{more}>{''.join(cells)}</table:table-row>"

    blank_rows = row("<table:table-cell/>", more=' table:number-rows-repeated="3"')
    tail = row('<table:table-cell table:number-columns-repeated="16384"/>', more=' table:number-rows-repeated="1048000"')
    date = '<table:table-cell office:value-type="date" office:date-value="2024-01-01"/>'
    error = '<table:table-cell office:value-type="string" office:string-value="" calcext:value-type="error" table:formula="of:=1/0"><text:p>#DIV/0!</text:p></table:table-cell>'
    bare = '<table:table-cell table:formula="of:=[.A1]"/>'
    main = (row(text("Sample"), text("Moisture"), text("Sampled"), text("Sum"))
            + blank_rows
            + row(text("Well 1"), number(0.125, "percentage"), date, error, bare, number(3, more=' table:number-columns-repeated="2"'))
            + tail)
    hidden = f'<table:table table:name="Old" table:style-name="off">{row(text("old"))}</table:table>'
    ods_of("plain.ods", f'<table:table table:name="Results">{main}</table:table>{hidden}')
    ods_of("huge-repeats.ods", '<table:table table:name="Results">' + row(
        number(1, more=' table:number-columns-repeated="16384"'), more=' table:number-rows-repeated="1048576"') + "</table:table>")
    ods_of("far-corner.ods", '<table:table table:name="Results">' + row(number(1)) + row(
        "<table:table-cell/>", more=' table:number-rows-repeated="1048574"') + row(
        '<table:table-cell table:number-columns-repeated="16383"/>', number(2)) + "</table:table>")
    def shown(n, seen, kind="float"):
        return f'<table:table-cell office:value-type="{kind}" office:value="{n}"><text:p>{seen}</text:p></table:table-cell>'

    raised = '<table:table-cell office:value-type="string"><text:p>7.5<text:span text:style-name="up">1</text:span></text:p></table:table-cell>'
    percent = number(0.125, "percentage").replace("<table:table-cell", '<table:table-cell table:formula="of:=IF([.A1]>5;1;2)"')
    ods_of("shown.ods", '<table:table table:name="Results">' + row(
        shown(0.05, "&lt;0.05"), shown(7.5, "7,5 mmol/L"), shown(0, "n.d."), shown(7500, "7.5"), shown(0, ""), percent, raised) + "</table:table>")
    ods_of("shown-otherwise.ods", '<table:table table:name="Results">' + row(
        shown(0, "#DIV/0!"), shown(0, "Err:502"), shown(80, "80-90"), shown(80, "-80")) + "</table:table>")
    ods_of("open-annotation.ods", '<table:table table:name="Results">' + row(
        '<table:table-cell office:value-type="string"><office:annotation><text:p>W1</text:p></table:table-cell>') + "</table:table>")
    ods_of("odd-repeats.ods", '<table:table table:name="Results">' + row(
        number(1), number(2, more=" table:number-columns-repeated = '2'")) + row(
        number(3, more=' table:number-columns-repeated="16000"'), more=' x=">" table:number-rows-repeated="60&#48;&#48;"') + "</table:table>")
    ods_of("long-repeated.ods", '<table:table table:name="Results">' + row(
        text("x" * 100_000).replace("string", 'string" table:number-columns-repeated="3')) + "</table:table>")
    ods_of("table-in-cell.ods", '<table:table table:name="Results">' + row(
        number(1), "<table:table-cell><table:table>" + row(number(2)) + "</table:table></table:table-cell>", number(3)) + "</table:table>")
    ods_of("hidden-lines.ods", '<table:table table:name="Results"><table:table-columns><table:table-column table:number-columns-repeated="2"/>'
           '<table:table-column table:visibility="collapse"/></table:table-columns>' + row(
               number(1), number(2)) + row(number(3), more=' table:visibility="filter"') + row(number(4), number(5), number(6)) + "</table:table>")
    out = '<style:style style:name="out"><style:text-properties style:text-line-through-style="solid"/></style:style>'
    struck = row(number(1, more=' table:style-name="out"'), number(2), text('8<text:span text:style-name="out">0</text:span>5'))
    pack("struck-out.ods", {"mimetype": ODS_TYPE, "content.xml": ODS.replace("</office:automatic-styles>", out + "</office:automatic-styles>").format(
        f'<table:table table:name="Results">{struck}</table:table>').encode()})
    whole = ODS.format(f'<table:table table:name="Results">{row(text("pH"), shown(0.05, "&lt;0.05"))}</table:table>')
    (HERE / "flat.fods").write_bytes(whole.replace("document-content", "document").encode())
    pack("no-media-type.ods", {"content.xml": whole.encode()})
    for usual, own in (("office", "o"), ("table", "t"), ("text", "office"), ("style", "s")):
        for before in ("<", "</", " ", " xmlns:"):
            for after in (":", "="):
                whole = whole.replace(f"{before}{usual}{after}", f"{before}{own}{after}")
    pack("prefixes-of-its-own.ods", {"mimetype": ODS_TYPE, "content.xml": whole.encode()})
    ods_of("password.ods", "", b'<manifest:file-entry manifest:full-path="content.xml"><manifest:encryption-data/></manifest:file-entry>')


# ---------------------------------------------------------------- xls and other compound files

def compound(streams, fat_edits=None):
    """A compound file of 512-byte sectors; each stream (at least 4096 bytes) in a chain of its own."""
    end, free = 0xFFFFFFFE, 0xFFFFFFFF
    sectors, fat, entries = [], [], []

    def put(data):
        start = len(sectors)
        count = max(1, -(-len(data) // 512))
        for i in range(count):
            sectors.append(data[i * 512:(i + 1) * 512].ljust(512, b"\0"))
            fat.append(start + i + 1 if i + 1 < count else end)
        return start

    for name, data in streams.items():
        entries.append((name, 2, put(data), len(data)))

    def entry(name, kind, start, size):
        coded = name.encode("utf-16-le")
        return (coded.ljust(64, b"\0") + struct.pack("<HBB", len(coded) + 2, kind, 1)
                + struct.pack("<III", free, free, free) + bytes(36) + struct.pack("<IQ", start, size))

    directory = entry("Root Entry", 5, end, 0) + b"".join(entry(*e) for e in entries)
    directory_start = put(directory)
    fat_start = len(sectors)
    fat.append(0xFFFFFFFD)
    for at, value in (fat_edits or {}).items():
        fat[directory_start if at == "directory" else at] = directory_start if value == "directory" else value
    table = b"".join(struct.pack("<I", f) for f in fat).ljust(512, b"\xff")
    assert len(table) == 512
    head = (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(16) + struct.pack("<HHHHH", 62, 3, 0xFFFE, 9, 6) + bytes(6)
            + struct.pack("<IIIIIIIII", 0, 1, directory_start, 0, 4096, end, 0, end, 0)
            + struct.pack("<I", fat_start)).ljust(512, b"\xff")
    return head + b"".join(sectors) + table


def biff(kind, data=b""):
    return struct.pack("<HH", kind, len(data)) + data


def biff_book(sheet, globals_=b""):
    """A BIFF 8 workbook stream of one sheet."""
    bof = biff(0x0809, struct.pack("<HHHHII", 0x0600, 5, 0, 0, 0, 0))
    eof = biff(0x000A)
    name = b"Results"
    start = len(bof) + len(globals_) + 4 + 8 + len(name) + len(eof)
    bound = biff(0x0085, struct.pack("<IBBBB", start, 0, 0, len(name), 0) + name)
    book = bof + globals_ + bound + eof
    assert len(book) == start
    sheet_bof = biff(0x0809, struct.pack("<HHHHII", 0x0600, 0x10, 0, 0, 0, 0))
    return (book + sheet_bof + sheet + eof).ljust(4096, b"\0")


def xls():
    book = xlwt.Workbook()
    sheet = book.add_sheet("Results")
    for r, row in enumerate(TABLE):
        for c, value in enumerate(row):
            sheet.write(r, c, value)
    sheet.write(1, 3, 0.125, xlwt.easyxf(num_format_str="0.0%"))
    sheet.write(1, 4, 0.05, xlwt.easyxf(num_format_str='"<"0.00'))
    sheet.write(1, 5, 45292, xlwt.easyxf(num_format_str="YYYY-MM-DD"))
    sheet.write(1, 6, "µg/L")
    sheet.write_merge(4, 4, 0, 2, "merged")
    old = book.add_sheet("Old")
    old.visibility = 1
    old.write(0, 0, "old")
    book.save(str(HERE / "plain.xls"))
    whole = (HERE / "plain.xls").read_bytes()
    (HERE / "xls-named.xlsx").write_bytes(whole)
    (HERE / "truncated.xls").write_bytes(whole[:1200])
    (HERE / "only-a-signature.xls").write_bytes(whole[:8])

    book = xlwt.Workbook()
    sheet = book.add_sheet("Results")
    out = xlwt.easyxf("font: struck_out on")
    for c, style in enumerate((xlwt.easyxf(), out)):
        sheet.write(0, c, 7.5 + c, style)
        sheet.write(1, c, f"text {c}", style)
    book.save(str(HERE / "struck-out.xls"))

    # So many texts that their table goes on in other records.
    book = xlwt.Workbook()
    sheet = book.add_sheet("Results")
    up, out = (xlwt.easyfont(f"{kind}") for kind in ("escapement superscript", "struck_out on"))
    for r in range(10):
        sheet.write(r, 3, f"{r} " + "a remark " * 200)
    sheet.write_rich_text(0, 0, [("7.5", xlwt.easyfont("bold on")), ("1", up)])
    sheet.write_rich_text(1, 0, [("80", out), ("90", xlwt.easyfont(""))])
    sheet.write_rich_text(2, 0, [("SO4", xlwt.easyfont("")), ("2-", up)])
    sheet.write_rich_text(9, 0, [("<0.05", xlwt.easyfont("")), ("2", up)])
    book.save(str(HERE / "raised-digit.xls"))

    book = xlwt.Workbook()
    sheet = book.add_sheet("Results")
    sheet.write(0, 0, 2)
    sheet.write(0, 1, xlwt.Formula("A1*2"))
    book.save(str(HERE / "uncalculated-formula.xls"))

    book = xlwt.Workbook()
    sheet = book.add_sheet("Results")
    for c in range(3):
        sheet.write(0, c, c)
        sheet.write(1, c, c)
    sheet.row(1).hidden = True
    sheet.col(2).hidden = True
    book.save(str(HERE / "hidden-lines.xls"))

    book = xlwt.Workbook()
    book.dates_1904 = True
    book.add_sheet("Results").write(0, 0, 45292, xlwt.easyxf(num_format_str="YYYY-MM-DD"))
    book.save(str(HERE / "date-1904.xls"))

    def number(row, col, value):
        return biff(0x0203, struct.pack("<HHHd", row, col, 0, value))

    def save_stream(name, stream, **edits):
        (HERE / name).write_bytes(compound({"Workbook": stream}, **edits))

    save_stream("far-corner.xls", biff_book(number(0, 0, 1) + number(65_535, 255, 2)))
    save_stream("huge-dimensions.xls", biff_book(
        biff(0x0200, struct.pack("<IIHHH", 0, 0xFFFFFFFF, 0, 256, 0)) + number(0, 0, 1)))
    save_stream("dimensions-upside-down.xls", biff_book(
        biff(0x0200, struct.pack("<IIHHH", 9, 3, 0, 256, 0)) + number(0, 0, 1)))
    save_stream("directory-in-a-circle.xls", biff_book(number(0, 0, 1)), fat_edits={"directory": "directory"})
    save_stream("text-missing.xls", biff_book(
        number(0, 0, 1) + biff(0x00FD, struct.pack("<HHHI", 0, 1, 0, 9)) + biff(0x00FD, struct.pack("<HHHI", 0, 2, 0, 7))))
    # A label of single bytes, with a code page of the east of Europe stated, and with none.
    label = biff(0x0204, struct.pack("<HHHH", 0, 0, 0, 6) + b"\0" + b"Twardo")
    codepage = biff(0x0042, struct.pack("<H", 1250))
    save_stream("codepage-1250.xls", biff_book(label, codepage))
    nul = biff(0x0204, struct.pack("<HHHH", 0, 0, 0, 6) + b"\0" + b"C\0a\0\0\0")
    save_stream("codepage-missing.xls", biff_book(nul))
    save_stream("given-twice.xls", biff_book(number(0, 0, 1) + number(0, 1, 2) + number(0, 0, 3)))
    save_stream("text-in-two-records.xls", biff_book(
        biff(0x0204, struct.pack("<HHHHB", 0, 0, 0, 4, 0) + b"80") + biff(0x003C, b"\0" + b"90") + number(0, 1, 2)))
    save_stream("password-of-another-kind.xls", biff_book(number(0, 0, 1), biff(0x002F, bytes(6))))
    save_stream("password.xls", biff_book(b"", biff(0x002F, struct.pack("<H", 1) + bytes(50))))
    (HERE / "password.xlsx").write_bytes(compound({"EncryptionInfo": bytes(4096), "EncryptedPackage": bytes(4096)}))
    (HERE / "letter.xls").write_bytes(compound({"__properties_version1.0": bytes(4096)}))


# ---------------------------------------------------------------- text

def text():
    files = {
        "plain.csv": "Sample,pH,Ca\nWell 1,7.5,80\nWell 2,7.25,95.5\n",
        "plain.tsv": "Sample\tpH\tCa\nWell 1\t7,5\t80\n",
        "bars.txt": "Sample|pH|Ca\nWell 1|7.5|80\n",
        "semicolons-decimal-commas.csv": "Sample;pH;Ca\nWell 1;7,5;80,25\nWell 2;7,25;95,5\n",
        "sep-line.csv": "sep=;\r\nSample;pH\r\nWell 1;7,5\r\n",
        "blank-lines-crlf.csv": "Sample,pH\r\n\r\n\r\nWell 1,7.5\r\n\r\nWell 2,7.6\r\n",
        "carriage-returns.csv": "Sample,pH\r\rWell 1,7.5\rWell 2,7.6\r",
        "mixed-line-ends.csv": "Sample,pH\r\nWell 1,7.5\nWell 2,7.6\r\rWell 3,7.7\r\n",
        "quoted-newlines.csv": 'Sample,Note,pH\n"Well 1","first\nsecond, third",7.5\n\nWell 2,"say ""ok""",7.6\n',
        "lost-quote.csv": 'Sample,Note,pH\nWell 1,"clear,7.5\nWell 2,ok,7.6\nWell 3,"quoted, well",7.7\n',
        "another-delimiter.csv": "Sample,pH,Ca\nWell 1,7.5,80\nWell 2;7.25;95.5\nsee note; all sound\n",
        "space-before-quote.csv": 'Sample;Note;pH\nWell 1; "clear;cold";7.5\n',
        "ragged.csv": "Report 26-118\nfor the garden, north\n\nSample;pH;Ca\nWell 1;7.5\nWell 2;7.6;80;extra\n",
        "quoted-empty.csv": 'Sample,pH,Ca\n"",,"7"\n',
        "utf-8-mark.csv": "\ufeffSample;µg/L\nWell 1;5\n",
        "invisible.csv": "Sample,Ca\u200b,\u200fMg\n\u202eWell 1\u202c,1,2\n",
        "two-headings-alike.csv": "Sample,Ca,Ca\nWell 1,1,2\n",
        "doubly-encoded.csv": "Sample;Âµg/L;Â°C\nWell 1;5;12\n",
        "limit-first.csv": "<0.05;<1\n7;8\n",
        "one-column.txt": "pH\n7.5\n",
        "html-named.xls": "<html><body><table><tr><td>pH</td></tr></table></body></html>\n",
        "json-named.csv": '[\n {"Sample": "Well 1", "pH": 7.5}\n]\n',
        "formula-texts.csv": 'Sample,pH,Ca\n="0042","=""7.5""",80\n="a, b",=1+1,81\n',
        "xml-2003-empty.xls": '<?xml version="1.0"?>\n<Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet"></Workbook>\n',
        "xml-2003-open.xls": '<?xml version="1.0"?>\n<Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet"><Worksheet><Table><Row><Cell><Data>7\n',
        "web-archive.xls": "MIME-Version: 1.0\nContent-Type: multipart/related\n",
        "xml-2003.xls": """<?xml version="1.0"?>
<?mso-application progid="Excel.Sheet"?>
<Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet" xmlns:x="urn:schemas-microsoft-com:office:excel" xmlns:ss="urn:schemas-microsoft-com:office:spreadsheet" xmlns:html="http://www.w3.org/TR/REC-html40">
<Styles><Style ss:ID="limit"><NumberFormat ss:Format="&quot;&lt;&quot;0.00"/></Style><Style ss:ID="out"><Font ss:StrikeThrough="1"/></Style></Styles>
<Worksheet ss:Name="Results"><Table ss:ExpandedColumnCount="4"><Column ss:Hidden="1" ss:Index="3"/>
<Row><Cell><Data ss:Type="String">Sample</Data></Cell><Cell><Data ss:Type="String">Date</Data></Cell><Cell ss:MergeAcross="1"><Data ss:Type="String">Ca (mg/L)</Data></Cell></Row>
<Row ss:Index="3"><Cell><Data ss:Type="String">Well 1</Data><Comment><ss:Data>asked</ss:Data></Comment></Cell><Cell><Data ss:Type="DateTime">2024-05-03T00:00:00.000</Data></Cell><Cell ss:StyleID="limit"><Data ss:Type="Number">0.05</Data></Cell></Row>
<Row><Cell ss:Index="2" ss:StyleID="out"><Data ss:Type="Number">5</Data></Cell><Cell ss:Formula="=RC[-1]"/><Cell><ss:Data ss:Type="String" xmlns="http://www.w3.org/TR/REC-html40"><B>7.5</B><Sup>1</Sup></ss:Data></Cell></Row>
</Table></Worksheet>
<Worksheet ss:Name="Old"><Table><Row><Cell><Data ss:Type="Number">1</Data></Cell></Row></Table><WorksheetOptions xmlns="urn:schemas-microsoft-com:office:excel"><Visible>SheetHidden</Visible></WorksheetOptions></Worksheet>
</Workbook>
""",
        "csv-named.xlsx": "Sample,pH\nWell 1,7.5\n",
        "pdf-named.csv": "%PDF-1.7\n",
        "empty.csv": "",
        "blank.csv": "\n\n  \n;;\n",
        "printed.txt": (
            "Water report 26-118\n\n"
            "Sample       pH     Ca    Cl\n"
            "             -      mg/l  mg/l\n"
            "Well 1       7.5    80    12.5\n"
            "Well 2              95.5  <1\n"
            "North pond   7.25   102\n\n"
            "Checked by the laboratory\n"),
        "dotted.txt": "pH ........... 7.5\nCalcium ...... 80 mg/l\nNitrate....... <0.5 mg/l\n",
    }
    for name, content in files.items():
        (HERE / name).write_bytes(content.encode())
    heading = "Sample;µg/L;°C\r\nWell 1;5;12\r\n"
    (HERE / "cp1252-mu.csv").write_bytes(heading.encode("cp1252"))
    (HERE / "cp850-mu.csv").write_bytes(heading.encode("cp850"))
    (HERE / "utf-16.csv").write_bytes(b"\xff\xfe" + heading.encode("utf-16-le"))
    (HERE / "utf-16-no-mark.csv").write_bytes(heading.encode("utf-16-le"))
    (HERE / "utf-16-big-no-mark.csv").write_bytes(heading.encode("utf-16-be"))
    (HERE / "xml-2003-utf-16.xls").write_bytes(files["xml-2003.xls"].replace("<?xml version", "<?xml encoding='UTF-16' version").encode("utf-16"))
    (HERE / "utf-32.csv").write_bytes(b"\xff\xfe\0\0" + heading.encode("utf-32-le"))
    (HERE / "mixed-encodings.csv").write_bytes("Sample;µg/L\n".encode() + "Grün;5\n".encode("cp1252"))
    (HERE / "nul-bytes.csv").write_bytes(b"Sample,pH,Ca,Mg,Na,Cl\nWell 1,7\0.5,80,12,9,30\n")
    (HERE / "binary.csv").write_bytes(bytes(range(32)) * 4)
    (HERE / "long-cell.csv").write_bytes(b"Sample,Note\nWell 1," + b"x" * 33_000 + b"\n")


if __name__ == "__main__":
    xlsx()
    xlsb()
    ods()
    xls()
    text()
