import io
import json
import struct
import zipfile
from collections.abc import Callable
from typing import Any

import pytest

from core.document import archive
from core.document.file import JobFile, from_bytes, to_bytes
from core.errors import Damaged, FileError, NewerVersion, NotAJob
from helpers.jobs import two_tone_job

GOOD = to_bytes(JobFile(two_tone_job()))
with zipfile.ZipFile(io.BytesIO(GOOD)) as _held:
    GOOD_JSON = _held.read("job.json")

Plain = dict[str, Any]


def zipped(*entries: tuple[str, bytes], method: int = zipfile.ZIP_STORED) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", method) as held:
        for name, data in entries:
            held.writestr(name, data)
    return buffer.getvalue()


def changed(change: Callable[[Plain], object]) -> bytes:
    document = json.loads(GOOD_JSON)
    change(document)
    return json.dumps(document).encode()


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"hello",
        b"\x00" * 100,
        b"%PDF-1.7",
        b"[]",
        b"null",
        b"7",
        b"{}",
        b'{"format": "other", "version": 1, "job": {}}',
        b'{"format": ["lapline-job"]}',
        "{}".encode("utf-16"),
        b'{"format": "\xff"}',
        b"[" * 100_000,
        b'{"a":' * 100_000,
        zipped(("readme.txt", b"hello")),
        zipped(),
    ],
)
def test_what_is_not_a_job_is_called_so(data: bytes) -> None:
    with pytest.raises(NotAJob, match=r"^some\.file: "):
        from_bytes(data, "some.file")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (GOOD[:-30], "broken"),
        (GOOD[:100], "broken"),
        (GOOD.replace(b"Panel p1", b"Panel pX"), "broken"),
        (zipped(("job.json", b"{")), "cannot be read: it ends too soon"),
        (zipped(("job.json", b'{"a": ]}')), "does not belong there, near byte 6. Open"),
        (zipped(("job.json", b"\xff\xfe")), "not"),
        (zipped(("job.json", GOOD_JSON), ("../evil", b"")), "evil"),
        (zipped(("job.json", GOOD_JSON), ("/etc/passwd", b"")), "passwd"),
        (zipped(("job.json", GOOD_JSON), ("photos/../../x", b"")), "belong"),
        (zipped(("job.json", GOOD_JSON), ("photos/a/b.png", b"")), "belong"),
        (zipped(("job.json", GOOD_JSON), ("photos/a\u202egnp.exe", b"")), "belong"),
        (zipped(("job.json", GOOD_JSON), ("notes.txt", b"")), "notes.txt"),
        (zipped(("job.json", GOOD_JSON), method=zipfile.ZIP_LZMA), "oddly packed"),
    ],
)
def test_a_damaged_file_is_refused(data: bytes, said: str) -> None:
    with pytest.raises(Damaged, match=said):
        from_bytes(data, "lid.lapline")


def test_an_entry_twice_is_refused() -> None:
    with pytest.warns(UserWarning, match="Duplicate"):
        data = zipped(("job.json", GOOD_JSON), ("job.json", GOOD_JSON))
    with pytest.raises(Damaged, match="twice"):
        from_bytes(data, "")


def test_a_zip_bomb_is_refused_before_it_is_unpacked(monkeypatch: pytest.MonkeyPatch) -> None:
    bomb = zipped(("job.json", b" " * (archive.MAX_JOB_BYTES + 1)), method=zipfile.ZIP_DEFLATED)
    assert len(bomb) < 100_000

    def read(*_: object) -> bytes:
        pytest.fail("it was unpacked")

    monkeypatch.setattr(archive, "_read", read)
    with pytest.raises(Damaged, match="too large"):
        from_bytes(bomb, "")


def test_many_entries_that_are_large_together_are_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(archive, "MAX_FILE_BYTES", 1_000_000)
    photos = [(f"photos/{i}.jpg", b"\0" * 200_000) for i in range(5)]
    data = zipped(("job.json", GOOD_JSON), *photos, method=zipfile.ZIP_DEFLATED)
    with pytest.raises(Damaged, match="more than a job can be"):
        from_bytes(data, "")
    many = zipped(("job.json", GOOD_JSON), *((f"photos/{i}", b"") for i in range(1000)))
    with pytest.raises(Damaged, match="too many entries"):
        from_bytes(many, "")


def test_a_size_that_lies_does_not_unpack_more_than_it_says() -> None:
    data = bytearray(zipped(("job.json", b" " * 10_000_000), method=zipfile.ZIP_DEFLATED))
    for signature, offset in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        at = data.rindex(signature) + offset
        data[at : at + 4] = struct.pack("<I", 100)
    with pytest.raises(FileError):
        from_bytes(bytes(data), "")


def test_an_encrypted_entry_is_refused() -> None:
    data = bytearray(GOOD)
    for signature, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        data[data.rindex(signature) + offset] |= 1
    with pytest.raises(Damaged, match="encrypted"):
        from_bytes(bytes(data), "")


def test_a_newer_version_is_refused_politely_whatever_it_holds() -> None:
    data = changed(lambda d: d.update(version=2, job={"all": "new"}, extra=1))
    with pytest.raises(
        NewerVersion, match=r"version 2, this one reads 1\. Open it with that one"
    ):
        from_bytes(data, "lid.lapline")


@pytest.mark.parametrize("version", [0, -1, True, "1", 1.0, None, [1]])
def test_a_version_that_is_none_is_refused(version: object) -> None:
    with pytest.raises(Damaged, match="Its version is"):
        from_bytes(changed(lambda d: d.update(version=version)), "")


def first_panel(d: Plain) -> Plain:
    return d["job"]["panels"][0]


def first_scheme(d: Plain) -> Plain:
    return d["job"]["variants"][0]["schemes"][0]


STRIPE = {
    "id": "t1",
    "type": "stripe",
    "nodes": [{"id": "n1", "at": [0, 0]}, {"id": "n2", "at": [9, 9]}],
    "start_width_mm": 0,
    "end_width_mm": 0,
    "film": "f2",
}
NEST = {"variant": "v1", "film": "f1", "fingerprint": "", "sheets": [], "found_length_mm": 9}

WRONG: dict[str, tuple[Callable[[Plain], object], str]] = {
    "no job": (lambda d: d.pop("job"), "The entry job is missing"),
    "entry beside the job": (lambda d: d.update(more=1), "The entry more is not known"),
    "job of the wrong type": (lambda d: d.update(job=[]), "A list stands where an object"),
    "no name": (lambda d: d["job"].pop("name"), "The entry name is missing"),
    "unknown entry": (
        lambda d: first_panel(d).update(weight=3),
        "panel 1 .*weight is not known",
    ),
    "name is a number": (
        lambda d: d["job"].update(name=5),
        "name: A whole number stands where",
    ),
    "roll without width": (
        lambda d: d["job"]["films"][0].update(roll_width_mm=0),
        r"lid\.lapline, film 1 \(Film f1\), roll width: The number must be more than 0\.",
    ),
    "text for a number": (
        lambda d: first_panel(d)["outline"][2].update(at=["1", 2]),
        r"panel 1 \(Panel p1\), outline node 3, position x: A text stands where a number",
    ),
    "not a number": (
        lambda d: first_panel(d)["outline"][2].update(at=[float("nan"), 2]),
        "not a Lapline job",
    ),
    "infinite": (
        lambda d: first_panel(d)["outline"][2].update(at=[1, float("-inf")]),
        "not a Lapline job",
    ),
    "beyond a kilometre": (
        lambda d: first_panel(d)["outline"][2].update(at=[1, 1e7]),
        "position y: The number must be at most 1000000",
    ),
    "point of three numbers": (
        lambda d: first_panel(d)["outline"][2].update(at=[1, 2, 3]),
        "outline node 3, position: It must have 2 numbers",
    ),
    "outline of one node": (
        lambda d: first_panel(d).update(outline=first_panel(d)["outline"][:1]),
        r"panel 1 \(Panel p1\), outline: It needs at least 2 entries",
    ),
    "odd id": (lambda d: first_panel(d).update(id="panel"), "An id is a letter and a number"),
    "id with a line break": (lambda d: first_panel(d).update(id="p1\n"), "not usable"),
    "line id with a line break": (
        lambda d: first_scheme(d)["seams"][0].update(id="s1\n"),
        "not usable",
    ),
    "colour with a line break": (
        lambda d: d["job"]["films"][0].update(colour="#aabbcc\n"),
        "colour",
    ),
    "colour in words": (lambda d: d["job"]["films"][0].update(colour="red"), "A colour is"),
    "unknown finish": (lambda d: d["job"]["films"][0].update(finish="wet"), "The value wet"),
    "unknown stock": (
        lambda d: d["job"]["films"][0]["stock"][0].update(type="heap"),
        "stock 1.*The value heap",
    ),
    "no variant": (lambda d: d["job"].update(variants=[]), "variants: It needs at least 1"),
    "film twice": (
        lambda d: d["job"]["films"][1].update(id="f1"),
        "Two things have the id f1",
    ),
    "roll of the id of another film's": (
        lambda d: d["job"]["films"][1]["stock"][0].update(id="r1"),
        "Two things have the id r1",
    ),
    "line twice in a variant": (
        lambda d: first_scheme(d)["seams"].append(first_scheme(d)["seams"][0]),
        r"variant 1 \(As drawn\): Two things have the id s1",
    ),
    "line of a panel's id": (
        lambda d: first_scheme(d)["seams"][0].update(id="p1"),
        "Two things have the id p1",
    ),
    "outline node twice": (
        lambda d: first_panel(d)["outline"][1].update(id="n1"),
        r"panel 1 \(Panel p1\), outline: Two nodes have the id n1",
    ),
    "seam node twice": (
        lambda d: first_scheme(d)["seams"][0]["nodes"][1].update(id="n1"),
        "scheme 1, seam 1, nodes: Two nodes have the id n1",
    ),
    "base film that is not there": (
        lambda d: first_panel(d).update(base_film="f9"),
        r"panel 1 \(Panel p1\), base film: There is no film f9\. Name a film of the job\.",
    ),
    "paint that is not there": (
        lambda d: first_scheme(d)["spots"][0].update(film="f9"),
        "paint spot 1, film: There is no film f9",
    ),
    "scheme of no panel": (
        lambda d: first_scheme(d).update(panel="p9"),
        "scheme 1, panel: There is no panel p9",
    ),
    "two schemes of a panel": (
        lambda d: d["job"]["variants"][0]["schemes"].append({"panel": "p1"}),
        "scheme 2, panel: The panel p1 has two schemes",
    ),
    "stripe without width": (
        lambda d: first_scheme(d).update(stripes=[STRIPE]),
        "stripe 1, start width: The stripe has no width",
    ),
    "stripe of no film": (
        lambda d: first_scheme(d).update(stripes=[{**STRIPE, "end_width_mm": 3, "film": "f9"}]),
        "stripe 1, film: There is no film f9",
    ),
    "nest of no variant": (
        lambda d: d["job"].update(nests=[{**NEST, "variant": "v9"}]),
        "kept nest 1, variant: There is no variant v9",
    ),
    "two nests": (lambda d: d["job"].update(nests=[NEST, NEST]), "kept nest 2: Two nests"),
    "two faults": (
        lambda d: (first_panel(d).update(base_film="f9"), first_scheme(d).update(panel="p9")),
        r"\(And 1 more\.\)$",
    ),
}


@pytest.mark.parametrize(("change", "said"), WRONG.values(), ids=WRONG.keys())
def test_content_that_does_not_hold_is_refused_with_its_place(
    change: Callable[[Plain], object], said: str
) -> None:
    with pytest.raises((Damaged, NotAJob), match=said) as refused:
        from_bytes(changed(change), "lid.lapline")
    assert str(refused.value).startswith("lid.lapline")


def test_a_key_twice_is_refused() -> None:
    data = GOOD_JSON.replace(b'"currency": "",', b'"currency": "", "currency": "EUR",')
    with pytest.raises(NotAJob, match="“currency” stands twice"):
        from_bytes(data, "")


def test_half_a_character_is_refused() -> None:
    with pytest.raises(NotAJob):
        from_bytes(GOOD_JSON.replace(b"Test job", b"\\ud800"), "")


def test_a_number_too_large_for_any_machine_is_refused() -> None:
    for number in (b"1e999", b"9" * 5000):
        with pytest.raises(FileError):
            from_bytes(GOOD_JSON.replace(b"400.0", number), "")
