"""Reads DXF files with ezdxf and fills what is in them, as an engraver does.

dxf2svg.py FILE.dxf... writes FILE.svg beside each: one path a layer, filled by
the even-odd rule. It fails where ezdxf has anything to mend, or where there is
anything else than closed polylines in a layer that the file declares.
"""

import sys

import ezdxf

COLOURS = {7: "#000000", 1: "#c00000", 5: "none"}


def convert(name):
    doc = ezdxf.readfile(name)
    auditor = doc.audit()
    if auditor.has_errors or auditor.has_fixes:
        sys.exit(f"{name}: {auditor.errors} {auditor.fixes}")
    if doc.dxfversion != "AC1009":
        sys.exit(f"{name}: release {doc.dxfversion}")
    width, height = doc.header["$EXTMAX"][:2]
    layers = {}
    for entity in doc.modelspace():
        if entity.dxftype() != "POLYLINE" or not entity.is_closed:
            sys.exit(f"{name}: {entity} is no closed polyline")
        if not doc.layers.has_entry(entity.dxf.layer):
            sys.exit(f"{name}: layer {entity.dxf.layer} is not declared")
        points = [(p.x, p.y) for p in entity.points()]
        if any(not (0 <= x <= width and 0 <= y <= height) for x, y in points):
            sys.exit(f"{name}: {entity} lies outside of the page")
        d = "M" + "L".join(f"{x:.3f} {height - y:.3f}" for x, y in points) + "Z"
        layers.setdefault(entity.dxf.layer, []).append(d)
    with open(name.removesuffix(".dxf") + ".svg", "w", encoding="utf-8") as out:
        out.write(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm"'
            f' viewBox="0 0 {width} {height}">\n'
        )
        for layer, paths in layers.items():
            colour = COLOURS[doc.layers.get(layer).color]
            out.write(f'<path id="{layer}" fill="{colour}" fill-rule="evenodd" d="{"".join(paths)}"/>\n')
        out.write("</svg>\n")


for argument in sys.argv[1:]:
    convert(argument)
