"""Colour profiles against the published primaries."""

from __future__ import annotations

import io

import colour
import numpy as np
import pytest
from PIL import Image, ImageCms

from inkhorn.imaging.load import load_picture
from support.camera import display_p3


def _profile(primaries: np.ndarray, white: np.ndarray) -> bytes:
    """Build a minimal ICC v2 matrix/TRC profile with the sRGB-like gamma 2.2 from primaries and white."""
    import struct

    matrix = colour.normalised_primary_matrix(primaries, white)
    d50 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
    adapt = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        colour.xy_to_XYZ(white), np.array([0.9642, 1.0, 0.8249]), "Bradford"
    )
    assert d50.shape == (2,)
    columns = (adapt @ matrix).T

    def fixed(v: float) -> bytes:
        return struct.pack(">i", round(v * 65536))

    def xyz(v: np.ndarray) -> bytes:
        return b"XYZ " + bytes(4) + b"".join(fixed(x) for x in v)

    curve = b"curv" + bytes(4) + struct.pack(">IH", 1, round(2.2 * 256)) + bytes(2)
    text = b"made for a test"
    description = b"desc" + bytes(4) + struct.pack(">I", len(text) + 1) + text + bytes(1) + bytes(78)
    description += bytes(-len(description) % 4)
    copyright_ = b"text" + bytes(4) + b"none\0" + bytes(3)
    tags = {
        b"desc": description, b"cprt": copyright_, b"wtpt": xyz(np.array([0.9642, 1.0, 0.8249])),
        b"rXYZ": xyz(columns[0]), b"gXYZ": xyz(columns[1]), b"bXYZ": xyz(columns[2]),
        b"rTRC": curve, b"gTRC": curve, b"bTRC": curve,
    }  # fmt: skip
    at, table, body = 128 + 4 + 12 * len(tags), b"", b""
    for name, data in tags.items():
        table += name + struct.pack(">II", at + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    head = struct.pack(">I", at + len(body)) + bytes(4) + struct.pack(">I", 0x02400000) + b"mntrRGB XYZ "
    head += struct.pack(">6H", 2020, 1, 1, 0, 0, 0) + b"acsp" + bytes(24) + bytes(4)
    head += fixed(0.9642) + fixed(1.0) + fixed(0.8249)
    return head.ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + body


class TestDisplayP3:
    """SMPTE RP 431-2 primaries with D65 white, as phones write; values from colour-science's data set."""

    space = colour.RGB_COLOURSPACES["Display P3"]

    @pytest.mark.parametrize("code", [(235, 222, 196), (70, 52, 40), (120, 80, 40), (200, 204, 199)])
    def test_pictures_are_brought_to_srgb(self, code: tuple[int, int, int]) -> None:
        """A picture with a P3 profile gives the linear sRGB that the primaries imply, to 8-bit rounding."""
        scene = np.empty((64, 64, 3), np.uint8)
        scene[:] = code
        out = io.BytesIO()
        profile = _profile(self.space.primaries, self.space.whitepoint)
        assert ImageCms.ImageCmsProfile(io.BytesIO(profile))
        Image.fromarray(scene).save(out, "PNG", icc_profile=profile)
        picture = load_picture(out.getvalue())
        linear = (np.array(code) / 255) ** 2.2
        to_srgb = colour.matrix_RGB_to_RGB("Display P3", "sRGB")
        np.testing.assert_allclose(picture.linear.mean(axis=(0, 1)), to_srgb @ linear, atol=0.006)
        assert any("profile" in note for note in picture.notes)

    def test_without_a_profile_srgb_is_assumed_and_said(self) -> None:
        """The same picture without its profile is read as sRGB, with a note."""
        out = io.BytesIO()
        Image.fromarray(np.full((64, 64, 3), 99, np.uint8)).save(out, "PNG")
        assert any("sRGB is assumed" in note for note in load_picture(out.getvalue()).notes)


class TestDisplayP3WithTheCurveOfSRGB:
    """As phones write it (curve of IEC 61966-2-1): the file's own values are kept, a matrix brings their light to sRGB."""

    to_srgb = colour.matrix_RGB_to_RGB("Display P3", "sRGB")

    @staticmethod
    def _file(code: tuple[int, int, int], kind: str, profile: bytes) -> bytes:
        out = io.BytesIO()
        scene = np.empty((64, 64, 3), np.uint8)
        scene[:] = code
        more = {"quality": 100, "subsampling": 0} if kind == "JPEG" else {}
        Image.fromarray(scene).save(out, kind, icc_profile=profile, **more)
        return out.getvalue()

    @pytest.mark.parametrize("kind", ["PNG", "JPEG"])
    @pytest.mark.parametrize("code", [(235, 222, 196), (70, 52, 40), (250, 60, 30), (20, 200, 60)])
    def test_light_is_that_of_the_primaries(self, code: tuple[int, int, int], kind: str) -> None:
        """Linear sRGB is that of colour-science, beyond sRGB's own gamut too, where 8-bit sRGB would be cut off."""
        picture = load_picture(self._file(code, kind, display_p3()))
        linear = colour.cctf_decoding(np.array(code) / 255, function="sRGB")
        wanted = self.to_srgb @ linear
        atol = 0.002 if kind == "PNG" else 0.02  # a JPEG rounds its own colour axes
        np.testing.assert_allclose(picture.linear.mean(axis=(0, 1)), wanted, atol=atol)
        rows, columns = np.array([3, 9]), np.array([5, 60])
        np.testing.assert_allclose(picture.at(rows, columns)[0], wanted, atol=atol)
        np.testing.assert_allclose(picture.reduced(2).linear[4, 4], wanted, atol=atol)
        np.testing.assert_allclose(picture.part(slice(0, 2), slice(0, 2), own=True)[0, 0], linear, atol=atol)
        assert any("profile" in note for note in picture.notes)

    def test_only_a_profile_that_a_matrix_meets_is_done_by_one(self) -> None:
        """The same primaries with another curve go the library's way, and sRGB's own profile asks for nothing."""
        code = (120, 80, 40)
        other = _profile(TestDisplayP3.space.primaries, TestDisplayP3.space.whitepoint)
        own = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
        pictures = [load_picture(self._file(code, "PNG", one)) for one in (display_p3(), other, own)]
        assert [picture.matrix is not None for picture in pictures] == [True, False, False]
        plain = colour.cctf_decoding(np.array(code) / 255, function="sRGB")
        np.testing.assert_allclose(pictures[2].linear[0, 0], plain, atol=1e-4)
