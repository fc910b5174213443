"""Writes the sheets of `make.py` in each format, byte for byte the same on every run.

A sheet here is a name, cells by (row, column) counted from 0, and merged areas. Nothing of water.
"""
import datetime
import io
import re
import struct
import zipfile

import openpyxl
import xlwt
from odf.opendocument import OpenDocumentSpreadsheet
from odf.style import Style, TableCellProperties
from odf.table import CoveredTableCell, Table, TableCell, TableRow
from odf.text import P

FIXED = (2026, 1, 1, 0, 0, 0)
FIXED_ISO = "2026-01-01T00:00:00Z"


class Sheet:
    def __init__(self, name=""):
        self.name, self.cells, self.merges = name, {}, []

    def put(self, row, col, value):
        if value is not None and value != "":
            assert (row, col) not in self.cells, (self.name, row, col)
            self.cells[row, col] = value

    def row(self, row, values, col=0):
        for i, value in enumerate(values):
            self.put(row, col + i, value)

    def merge(self, row, col, to_row, to_col):
        self.merges.append((row, col, to_row, to_col))

    def size(self):
        return 1 + max(r for r, _ in self.cells), 1 + max(c for _, c in self.cells)


def rezip(data, edit=lambda name, body: body):
    """The same package with fixed times, so that a new run gives the same bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for info in old.infolist():
            body = edit(info.filename, old.read(info.filename))
            if info.filename in ("docProps/core.xml", "meta.xml"):
                body = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z?", FIXED_ISO.encode(), body)
            fixed = zipfile.ZipInfo(info.filename, FIXED)
            kind = zipfile.ZIP_STORED if info.filename == "mimetype" else zipfile.ZIP_DEFLATED
            new.writestr(fixed, body, compress_type=kind)
    return out.getvalue()


def xlsx(path, sheets, macro=False):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for sheet in sheets:
        page = book.create_sheet(sheet.name)
        for (row, col), value in sheet.cells.items():
            cell = page.cell(row + 1, col + 1, value)
            if isinstance(value, datetime.date):
                cell.number_format = "dd/mm/yyyy"
        for top, left, bottom, right in sheet.merges:
            page.merge_cells(start_row=top + 1, start_column=left + 1, end_row=bottom + 1, end_column=right + 1)
    buffer = io.BytesIO()
    book.save(buffer)

    def edit(name, body):
        if macro and name == "[Content_Types].xml":
            plain = b"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
            assert plain in body
            body = body.replace(plain, b"application/vnd.ms-excel.sheet.macroEnabled.main+xml")
        return body

    path.write_bytes(rezip(buffer.getvalue(), edit))


def xlsm(path, sheets):
    xlsx(path, sheets, macro=True)


def xls(path, sheets):
    book = xlwt.Workbook()
    day = xlwt.easyxf(num_format_str="DD.MM.YYYY")
    for sheet in sheets:
        page = book.add_sheet(sheet.name)
        merged = {(m[0], m[1]): m for m in sheet.merges}
        for (row, col), value in sorted(sheet.cells.items()):
            if (row, col) in merged:
                top, left, bottom, right = merged[row, col]
                page.write_merge(top, bottom, left, right, value)
            elif isinstance(value, datetime.date):
                page.write(row, col, value, day)
            else:
                page.write(row, col, value)
    book.save(str(path))


def ods(path, sheets):
    book = OpenDocumentSpreadsheet()
    plain = Style(name="plain", family="table-cell")
    plain.addElement(TableCellProperties(verticalalign="top"))
    book.automaticstyles.addElement(plain)
    for sheet in sheets:
        table = Table(name=sheet.name)
        merged = {(m[0], m[1]): m for m in sheet.merges}
        covered = {(r, c) for t, l, b, s in sheet.merges for r in range(t, b + 1) for c in range(l, s + 1)} - set(merged)
        rows, cols = sheet.size()
        for row in range(rows):
            line = TableRow()
            for col in range(cols):
                value = sheet.cells.get((row, col))
                if (row, col) in covered:
                    line.addElement(CoveredTableCell())
                    continue
                more = {"stylename": plain}
                if (row, col) in merged:
                    top, left, bottom, right = merged[row, col]
                    more |= {"numberrowsspanned": bottom - top + 1, "numbercolumnsspanned": right - left + 1}
                if value is None:
                    cell = TableCell(**more)
                elif isinstance(value, str):
                    cell = TableCell(valuetype="string", **more)
                    cell.addElement(P(text=value))
                elif isinstance(value, datetime.date):
                    cell = TableCell(valuetype="date", datevalue=value.isoformat(), **more)
                    cell.addElement(P(text=value.strftime("%d-%m-%Y")))
                else:
                    cell = TableCell(valuetype="float", value=repr(value), **more)
                    cell.addElement(P(text=repr(value).replace(".", ",")))
                line.addElement(cell)
            table.addElement(line)
        book.spreadsheet.addElement(table)
    buffer = io.BytesIO()
    book.write(buffer)
    path.write_bytes(rezip(buffer.getvalue()))


# The binary workbook, by hand, since no library writes one: records of [MS-XLSB] (openly specified),
# each a type and a length as 7-bit groups, then the body.
def record(kind, body=b""):
    def groups(number):
        out = bytearray()
        while True:
            number, low = number >> 7, number & 0x7F
            out.append(low | (0x80 if number else 0))
            if not number:
                return bytes(out)

    return groups(kind) + groups(len(body)) + body


def wide(text):
    return struct.pack("<I", len(text.encode("utf-16-le")) // 2) + text.encode("utf-16-le")


def xlsb_sheet(sheet, strings):
    rows, cols = sheet.size()
    out = record(129) + record(148, struct.pack("<4I", 0, rows - 1, 0, cols - 1)) + record(145)
    for row in range(rows):
        cells = sorted((c, v) for (r, c), v in sheet.cells.items() if r == row)
        if not cells:
            continue
        span = struct.pack("<III", 1, cells[0][0], cells[-1][0])
        out += record(0, struct.pack("<IIH3x", row, 0, 300) + span)
        for col, value in cells:
            head = struct.pack("<II", col, 0)
            if isinstance(value, str):
                out += record(7, head + struct.pack("<I", strings.setdefault(value, len(strings))))
            else:
                out += record(5, head + struct.pack("<d", value))
    return out + record(146) + record(130)


def xlsb(path, sheets):
    main = "http://schemas.openxmlformats.org/package/2006/"
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    head = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    numbers = range(1, len(sheets) + 1)
    types = head + f'<Types xmlns="{main}content-types">' \
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>' \
        '<Default Extension="bin" ContentType="application/vnd.ms-excel.sheet.binary.macroEnabled.main"/>' \
        + "".join(f'<Override PartName="/xl/worksheets/sheet{n}.bin" ContentType="application/vnd.ms-excel.worksheet"/>' for n in numbers) \
        + '<Override PartName="/xl/sharedStrings.bin" ContentType="application/vnd.ms-excel.sharedStrings"/></Types>'
    root = head + f'<Relationships xmlns="{main}relationships"><Relationship Id="rId1" Type="{office}/officeDocument" Target="xl/workbook.bin"/></Relationships>'
    links = head + f'<Relationships xmlns="{main}relationships">' \
        + "".join(f'<Relationship Id="rId{n}" Type="{office}/worksheet" Target="worksheets/sheet{n}.bin"/>' for n in numbers) \
        + f'<Relationship Id="rId{len(sheets) + 1}" Type="{office}/sharedStrings" Target="sharedStrings.bin"/></Relationships>'
    bundle = b"".join(record(156, struct.pack("<II", 0, n) + wide(f"rId{n}") + wide(s.name)) for n, s in zip(numbers, sheets))
    book = record(131) + record(143) + bundle + record(144) + record(132)
    parts = {"[Content_Types].xml": types.encode(), "_rels/.rels": root.encode(), "xl/workbook.bin": book,
             "xl/_rels/workbook.bin.rels": links.encode()}
    strings = {}
    parts |= {f"xl/worksheets/sheet{n}.bin": xlsb_sheet(s, strings) for n, s in zip(numbers, sheets)}
    items = b"".join(record(19, b"\0" + wide(text)) for text in strings)
    parts["xl/sharedStrings.bin"] = record(159, struct.pack("<II", len(strings), len(strings))) + items + record(160)
    with zipfile.ZipFile(path, "w") as package:
        for name, body in parts.items():
            package.writestr(zipfile.ZipInfo(name, FIXED), body, compress_type=zipfile.ZIP_DEFLATED)


def text(path, sheet, separator, encoding, mark=b"", ends="\n"):
    """Delimited text. Values must be texts already; none of ours needs quotes."""
    rows, _ = sheet.size()
    lines = []
    for row in range(rows):
        cells = {c: v for (r, c), v in sheet.cells.items() if r == row}
        line = [cells.get(c, "") for c in range(max(cells, default=-1) + 1)]
        assert all(isinstance(v, str) and separator not in v and '"' not in v for v in line), (path, line)
        lines.append(separator.join(line))
    path.write_bytes(mark + "".join(line + ends for line in lines).encode(encoding))
