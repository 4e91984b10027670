"""Flat sheets with their codes, drawn with OpenCV's own generator; segno writes the QR code."""

import cv2
import numpy as np
import segno

PX = 4  # a mm
SEVEN = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_7X7_1000)


def paper(codes, layout, qr=""):
    """A flat sheet, px = mm · PX − ½, with these four codes."""
    width, height = (round(side * PX) for side in layout.size_mm)
    sheet = np.full((height, width), 250, np.uint8)
    for code, box in zip(codes, layout.codes, strict=True):
        _lay(sheet, box, cv2.aruco.generateImageMarker(SEVEN, code, 9))
    if qr:
        modules = segno.make(qr, error="m", micro=False).matrix_iter(border=4)
        _lay(sheet, layout.qr, np.array([[20 if one else 250 for one in row] for row in modules]))
    return sheet


def _lay(sheet, box, modules):
    left, top, size = (round(n * PX) for n in (box.x_mm, box.y_mm, box.width_mm))
    modules = modules.astype(np.uint8)
    part = cv2.resize(modules, (size, size), interpolation=cv2.INTER_NEAREST)
    sheet[top : top + size, left : left + size] = part
