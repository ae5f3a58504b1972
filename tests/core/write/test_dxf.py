import io

import ezdxf
import pytest
from ezdxf.lldxf.encoding import decode_dxf_unicode
from shapely import box

from core.write.drawing import Drawing, Layer, Purpose, Shape, Text, area_runs, open_run
from core.write.dxf import DxfVersion, drawing_to_dxf

CUT, LABELS = Layer("CUT", Purpose.CUT), Layer("LABELS", Purpose.LABEL)
SHAPES = (
    Shape("CUT", area_runs(box(10, 20, 60, 40).difference(box(20, 25, 30, 35)))),
    Shape("LABELS", (open_run([(0, 0), (5, 5)]),)),
)


def sheet(text="Lid left 1"):
    texts = (Text("LABELS", text, (30, 30), 5.0, angle_deg=90.0, anchor="middle"),)
    return Drawing("d", (0, 0, 500, 300), (CUT, LABELS), SHAPES, texts)


def read(data):
    # The DXF reference: files are in UTF-8 from R2007 (AC1021) on, in a code page before.
    is_newer = data.find(b"AC1024") > 0
    return ezdxf.read(io.StringIO(data.decode("utf-8" if is_newer else "cp1252")))


@pytest.mark.parametrize(
    ("version", "code"), [(DxfVersion.R2000, "AC1015"), (DxfVersion.R2010, "AC1024")]
)
def test_newer_versions_say_that_they_are_in_millimetres(version, code):
    # The DXF reference, header section: $INSUNITS 4 is millimetres, $MEASUREMENT 1 metric.
    document = read(drawing_to_dxf(sheet(), version))
    assert document.dxfversion == code
    assert (document.header["$INSUNITS"], document.header["$MEASUREMENT"]) == (4, 1)


def test_r12_says_it_in_a_comment_as_it_has_no_such_variables():
    data = drawing_to_dxf(sheet(), DxfVersion.R12)
    assert data.startswith(b"999\nAll lengths in this file are millimetres.\n")
    assert b"$INSUNITS" not in data
    assert read(data).dxfversion == "AC1009"


@pytest.mark.parametrize("version", list(DxfVersion))
def test_it_is_sound_and_covers_what_it_says(version):
    document = read(drawing_to_dxf(sheet(), version))
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    assert tuple(document.header["$EXTMIN"]) == (0, 0, 0)
    assert tuple(document.header["$EXTMAX"]) == (500, 300, 0)
    assert {"CUT", "LABELS"} <= {layer.dxf.name for layer in document.layers}


@pytest.mark.parametrize("version", list(DxfVersion))
def test_the_same_drawing_gives_the_same_bytes(version):
    assert drawing_to_dxf(sheet(), version) == drawing_to_dxf(sheet(), version)


def test_asking_for_fixed_bytes_is_undone_afterwards():
    before = ezdxf.options.write_fixed_meta_data_for_testing
    drawing_to_dxf(sheet())
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


@pytest.mark.parametrize("version", list(DxfVersion))
def test_nothing_is_said_to_the_log(version, caplog):
    drawing_to_dxf(sheet(), version)
    assert not caplog.records


@pytest.mark.parametrize("version", list(DxfVersion))
@pytest.mark.parametrize("text", ["Grün 2", "Крышка 3", "two\nlines", "100 %%d", "a\x07b"])
def test_any_text_is_one_sound_line(text, version):
    document = read(drawing_to_dxf(sheet(text), version))
    (entity,) = document.modelspace().query("TEXT")
    assert not document.audit().errors
    assert "\n" not in entity.dxf.text
    assert "%%" not in entity.dxf.text
    if text.isprintable() and "%" not in text:
        # The DXF reference: other alphabets are written as \U+ and four hex digits.
        assert decode_dxf_unicode(entity.plain_text()) == text
    assert entity.dxf.rotation == 90.0


def test_closed_and_open_lines_stay_what_they_are():
    document = read(drawing_to_dxf(sheet()))
    closed = [line.closed for line in document.modelspace().query("LWPOLYLINE")]
    assert closed == [True, True, False]
