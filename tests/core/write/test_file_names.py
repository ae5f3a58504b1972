import pytest

from core.write.file_names import safe_name, unique_names


@pytest.mark.parametrize(
    ("parts", "name"),
    [
        (("Pearl White", "r1"), "pearl-white-r1"),
        (("Grün / fern",), "gruen-fern"),
        (("Größe 2: «links»",), "groesse-2-links"),
        (("Café à Łódź",), "cafe-a-lodz"),
        (("../../etc/passwd",), "etc-passwd"),
        (('a<b>c:"d"|e?*',), "a-b-c-d-e"),
        (("dots. and spaces . ",), "dots-and-spaces"),
        (("синий",), "unnamed"),
        (("",), "unnamed"),
    ],
)
def test_names_are_plain(parts, name):
    assert safe_name(*parts) == name


@pytest.mark.parametrize("device", ["CON", "nul", "Com1", "LPT9", "aux"])
def test_names_of_devices_are_avoided(device):
    assert safe_name(device) == f"{device.lower()}-1"


def test_names_are_not_too_long():
    assert len(safe_name("x" * 500)) <= 80


def test_a_name_that_is_met_twice_is_numbered():
    assert unique_names(["a", "a", "a-2", "a"]) == ["a", "a-2", "a-2-2", "a-3"]
