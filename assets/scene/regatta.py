# The demo picture's scene: regatta day at a harbour rowing club.
#
# Run it with Blender, no window needed:
#
#   blender -b -t 1 -P regatta.py -- -out pass1.exr -seed 1 -samples 32
#
# Every shape, material and light is built here; nothing is loaded. Colours are
# linear ROMM RGB (ISO 22028-2) under D50: the renderer multiplies and adds the three
# numbers without asking what they mean, so the file it writes is linear ROMM too.
# Passes with different seeds are averaged and finished by the Go command in develop/.
#
# The camera stands at the origin and looks along +y; z is up; lengths are metres.

import argparse
import json
import math
import os
import random
import sys

import bpy
from mathutils import Matrix, Vector, noise

TAU = 2 * math.pi

# ---------------------------------------------------------------- colour

# ROMM RGB from XYZ under D50, ISO 22028-2.
FROM_XYZ = ((1.3460, -0.2556, -0.0511), (-0.5446, 1.5082, 0.0205), (0.0, 0.0, 1.2123))


def lch(l, c, h):
    """Linear ROMM of a CIELAB colour (D50) given as lightness, chroma, hue angle."""
    a, b = c * math.cos(math.radians(h)), c * math.sin(math.radians(h))
    fy = (l + 16) / 116
    f = (fy + a / 500, fy, fy - b / 200)
    xyz = [w * (t ** 3 if t > 6 / 29 else 3 * (6 / 29) ** 2 * (t - 4 / 29))
           for t, w in zip(f, (0.9642, 1.0, 0.8249))]
    rgb = [sum(m * v for m, v in zip(row, xyz)) for row in FROM_XYZ]
    if min(rgb) < -0.002:
        print("colour outside ROMM:", l, c, h, rgb)
    return tuple(max(0.0, v) for v in rgb)


def times(rgb, k):
    return tuple(v * k for v in rgb)


# ---------------------------------------------------------------- materials


class Nodes:
    """A few lines of sugar for building a material's node tree."""

    def __init__(self, tree):
        self.t = tree
        tree.nodes.clear()

    def new(self, kind, **inputs):
        n = self.t.nodes.new(kind)
        for k, v in inputs.items():
            k = k.replace("_", " ")
            if hasattr(v, "is_output"):
                self.t.links.new(v, n.inputs[k])
            elif k in n.inputs:
                s = n.inputs[k]
                s.default_value = (*v, 1.0) if s.type == "RGBA" and len(v) == 3 else v
            else:
                raise KeyError(f"{kind}: {k}")
        return n

    def link(self, a, b):
        self.t.links.new(a, b)

    def coords(self, scale=(1, 1, 1), kind="Object"):
        c = self.t.nodes.new("ShaderNodeTexCoord")
        m = self.new("ShaderNodeMapping", Scale=scale)
        self.link(c.outputs[kind], m.inputs["Vector"])
        return m.outputs["Vector"]

    def noise(self, vec, scale, detail=3.0, rough=0.5, distortion=0.0):
        return self.new("ShaderNodeTexNoise", Vector=vec, Scale=scale, Detail=detail,
                        Roughness=rough, Distortion=distortion).outputs["Fac"]

    def math(self, op, a, b=0.0):
        n = self.t.nodes.new("ShaderNodeMath")
        n.operation = op
        for i, v in enumerate((a, b)):
            if hasattr(v, "is_output"):
                self.link(v, n.inputs[i])
            else:
                n.inputs[i].default_value = v
        return n.outputs[0]

    def ramp(self, fac, stops, smooth=True):
        n = self.t.nodes.new("ShaderNodeValToRGB")
        r = n.color_ramp
        r.interpolation = "EASE" if smooth else "LINEAR"
        while len(r.elements) < len(stops):
            r.elements.new(0.5)
        for e, (p, c) in zip(r.elements, stops):
            e.position = p
            e.color = (*c, 1) if not isinstance(c, (int, float)) else (c, c, c, 1)
        self.link(fac, n.inputs["Fac"])
        return n.outputs["Color"]

    def mix(self, fac, a, b):
        n = self.t.nodes.new("ShaderNodeMixRGB")
        for i, v in enumerate((fac, a, b)):
            if hasattr(v, "is_output"):
                self.link(v, n.inputs[i])
            elif i == 0:
                n.inputs[0].default_value = v
            else:
                n.inputs[i].default_value = (*v, 1)
        return n.outputs["Color"]

    def bump(self, height, strength, distance):
        return self.new("ShaderNodeBump", Height=height, Strength=strength,
                        Distance=distance).outputs["Normal"]

    def surface(self, shader):
        o = self.t.nodes.new("ShaderNodeOutputMaterial")
        self.link(shader, o.inputs["Surface"])


def material(name):
    m = bpy.data.materials.new(name)
    m.use_nodes = True
    return m, Nodes(m.node_tree)


def principled(n, **inputs):
    return n.new("ShaderNodeBsdfPrincipled", **inputs).outputs["BSDF"]


def cloth_material(name, base, trim=None):
    """Knitted cotton, matt, with a fine weave; trim colours the cuffs and a hoop round the chest.

    The cloth's uv is in metres of the flat pattern: u across, v down from the shoulder line.
    """
    m, n = material(name)
    uv = n.coords((1, 1, 1), "UV")
    weave = n.new("ShaderNodeTexWave", Vector=uv, Scale=150.0, Distortion=1.2, Detail=1.0)
    fleck = n.noise(uv, 300.0, 2.0)
    height = n.math("ADD", weave.outputs["Fac"], fleck)
    colour = n.mix(n.math("MULTIPLY", n.noise(uv, 9.0, 3.0), 0.16), base, times(base, 0.72))
    if trim:
        sep = n.new("ShaderNodeSeparateXYZ", Vector=n.t.nodes.new("ShaderNodeUVMap").outputs[0])
        hoop = n.math("LESS_THAN", n.math("ABSOLUTE", n.math("SUBTRACT", sep.outputs[1], HOOP[0])), HOOP[1] / 2)
        cuff = n.math("GREATER_THAN", n.math("ABSOLUTE", sep.outputs[0]), CUFF - 0.024)
        colour = n.mix(n.math("MAXIMUM", hoop, cuff), colour, trim)
    normal = n.bump(height, 0.25, 0.0006)
    front = n.new("ShaderNodeBsdfDiffuse", Color=colour, Roughness=0.0, Normal=normal)
    through = n.new("ShaderNodeBsdfTranslucent", Color=n.mix(0.4, colour, times(base, 0.6)))
    both = n.new("ShaderNodeMixShader", Fac=0.10)
    n.link(front.outputs[0], both.inputs[1])
    n.link(through.outputs[0], both.inputs[2])
    n.surface(both.outputs[0])
    return m


def paint(name, base, rough=0.35, coat=0.5, grain=0.10, spec=0.4, bump=0.25):
    """Oil paint on turned wood: the grain shows faintly through, lacquer over it."""
    m, n = material(name)
    v = n.coords((1, 1, 5))
    rings = n.noise(v, 26.0, 3.0, 0.6)
    broad = n.noise(n.coords((3, 3, 1)), 4.0, 2.0)
    c = n.mix(n.math("MULTIPLY", rings, grain), base, times(base, 0.55))
    c = n.mix(n.math("MULTIPLY", broad, grain), c, times(base, 1.12))
    n.surface(principled(n, Base_Color=c, Roughness=rough, Specular=spec, Clearcoat=coat,
                         Clearcoat_Roughness=0.16, Normal=n.bump(rings, bump, 0.0006)))
    return m


def wood(name, light, dark, scale=(1, 1, 1), rough=0.55, coat=0.0, bump=0.5):
    """Boards with long grain along x of the object's own coordinates."""
    m, n = material(name)
    v = n.coords(tuple(a * b for a, b in zip(scale, (0.35, 8, 8))))
    g = n.noise(v, 6.0, 6.0, 0.65, 0.4)
    fine = n.noise(n.coords(tuple(a * b for a, b in zip(scale, (1.5, 60, 60)))), 5.0, 3.0)
    c = n.ramp(g, [(0.32, dark), (0.68, light)])
    c = n.mix(n.math("MULTIPLY", fine, 0.45), c, dark)
    h = n.math("ADD", g, n.math("MULTIPLY", fine, 0.6))
    n.surface(principled(n, Base_Color=c, Roughness=rough, Specular=0.3, Clearcoat=coat,
                         Clearcoat_Roughness=0.1, Normal=n.bump(h, bump, 0.004)))
    return m


def tar(name):
    """Stockholm tar over planks: nearly black, brushed, glossy where it has run."""
    m, n = material(name)
    v = n.coords((1.0, 9, 9))
    brush = n.noise(v, 5.0, 7.0, 0.7, 0.6)
    runs = n.noise(n.coords((14, 14, 1.2)), 3.0, 5.0, 0.6)
    c = n.ramp(brush, [(0.30, lch(2.5, 0.6, 60)), (0.55, lch(5.5, 1.4, 62)), (0.80, lch(11, 3, 65))])
    rough = n.ramp(runs, [(0.35, 0.22), (0.7, 0.62)])
    h = n.math("ADD", n.math("MULTIPLY", brush, 1.2), runs)
    n.surface(principled(n, Base_Color=c, Roughness=rough, Specular=0.24,
                         Normal=n.bump(h, 0.65, 0.006)))
    return m


def brass(name, rough=0.17):
    m, n = material(name)
    v = n.coords((1, 1, 1))
    spots = n.noise(v, 14.0, 5.0, 0.6)
    c = n.ramp(spots, [(0.30, lch(62, 46, 80)), (0.6, lch(77, 62, 83))])
    r = n.ramp(spots, [(0.30, rough + 0.16), (0.65, rough)])
    turned = n.noise(n.coords((1, 1, 60)), 7.0, 2.0)
    n.surface(principled(n, Base_Color=c, Metallic=1.0, Roughness=r,
                         Normal=n.bump(turned, 0.12, 0.0008)))
    return m


def leaf_material(name, base, veins, lit, gloss=0.32):
    """A leaf: waxy above, light shining through; u across, v along the midrib."""
    m, n = material(name)
    uv = n.t.nodes.new("ShaderNodeUVMap").outputs[0]
    sep = n.new("ShaderNodeSeparateXYZ", Vector=uv)
    u, v = sep.outputs[0], sep.outputs[1]
    across = n.math("ABSOLUTE", n.math("SUBTRACT", u, 0.5))
    rib = n.math("LESS_THAN", across, 0.022)
    side = n.math("SINE", n.math("MULTIPLY", n.math("SUBTRACT", v, n.math("MULTIPLY", across, 0.75)), 58.0))
    vein = n.math("MAXIMUM", rib, n.math("MULTIPLY", n.math("GREATER_THAN", side, 0.93), 0.6))
    info = n.t.nodes.new("ShaderNodeAttribute")
    info.attribute_name = "tint"
    c = n.mix(info.outputs["Fac"], base, times(lit, 0.72))
    c = n.mix(n.math("MULTIPLY", n.noise(n.coords((1, 1, 1)), 30.0, 3.0), 0.3), c, times(base, 0.7))
    c = n.mix(n.math("MULTIPLY", vein, 0.7), c, veins)
    h = n.math("ADD", n.math("MULTIPLY", side, 0.3), n.noise(n.coords((1, 1, 1)), 60.0, 2.0))
    normal = n.bump(h, 0.35, 0.002)
    top = principled(n, Base_Color=c, Roughness=gloss, Specular=0.28, Normal=normal)
    thr = n.new("ShaderNodeBsdfTranslucent", Color=n.mix(0.5, c, lit)).outputs[0]
    mix = n.new("ShaderNodeMixShader", Fac=0.30)
    n.link(top, mix.inputs[1])
    n.link(thr, mix.inputs[2])
    n.surface(mix.outputs[0])
    return m


def plain(name, base, rough=0.6, spec=0.2, metal=0.0):
    m, n = material(name)
    n.surface(principled(n, Base_Color=base, Roughness=rough, Specular=spec, Metallic=metal))
    return m


def sailcloth(name, base):
    m, n = material(name)
    uv = n.t.nodes.new("ShaderNodeUVMap").outputs[0]
    sep = n.new("ShaderNodeSeparateXYZ", Vector=uv)
    panel = n.math("FRACT", n.math("MULTIPLY", n.math("ADD", sep.outputs[1], n.math("MULTIPLY", sep.outputs[0], 0.12)), 9.0))
    seam = n.math("LESS_THAN", panel, 0.05)
    c = n.mix(n.math("MULTIPLY", seam, 0.16), base, times(base, 0.5))
    crease = n.noise(n.coords((0.7, 2.2, 2.2), "UV"), 4.0, 4.0, 0.5, 0.8)
    normal = n.bump(n.math("ADD", crease, n.math("MULTIPLY", panel, 0.15)), 0.30, 0.03)
    front = n.new("ShaderNodeBsdfDiffuse", Color=c, Normal=normal).outputs[0]
    thr = n.new("ShaderNodeBsdfTranslucent", Color=c, Normal=normal).outputs[0]
    mix = n.new("ShaderNodeMixShader", Fac=0.25)
    n.link(front, mix.inputs[1])
    n.link(thr, mix.inputs[2])
    n.surface(mix.outputs[0])
    return m


# ---------------------------------------------------------------- shapes


def mesh(name, verts, faces, mat, uvs=None, smooth=True, crease=None, attr=None):
    """An object from vertices and faces; uvs is one pair per vertex."""
    me = bpy.data.meshes.new(name)
    me.from_pydata([tuple(v) for v in verts], [], faces)
    if uvs:
        layer = me.uv_layers.new(name="UVMap")
        for loop in me.loops:
            layer.data[loop.index].uv = uvs[loop.vertex_index]
    if attr:
        a = me.attributes.new(attr[0], "FLOAT", "POINT")
        for i, v in enumerate(attr[1]):
            a.data[i].value = v
    for p in me.polygons:
        p.use_smooth = smooth
    if crease:
        me.use_auto_smooth = True
        me.auto_smooth_angle = math.radians(crease)
    me.materials.append(mat)
    ob = bpy.data.objects.new(name, me)
    bpy.context.collection.objects.link(ob)
    return ob


def place(ob, at=(0, 0, 0), turn=(0, 0, 0), scale=(1, 1, 1), parent=None):
    ob.location = at
    ob.rotation_euler = [math.radians(a) for a in turn]
    ob.scale = scale if not isinstance(scale, (int, float)) else (scale,) * 3
    if parent:
        ob.parent = parent
    return ob


def group(at=(0, 0, 0), turn=(0, 0, 0), scale=1, parent=None):
    e = bpy.data.objects.new("group", None)
    bpy.context.collection.objects.link(e)
    return place(e, at, turn, scale, parent)


def lathe(name, profile, mat, seg=48, crease=35):
    """Turns a profile of (radius, z) about the z axis, bottom to top."""
    verts, faces = [], []
    k = len(profile)
    for i in range(seg):
        c, s = math.cos(TAU * i / seg), math.sin(TAU * i / seg)
        verts += [(r * c, r * s, z) for r, z in profile]
    for i in range(seg):
        j = (i + 1) % seg
        for p in range(k - 1):
            faces.append((i * k + p, j * k + p, j * k + p + 1, i * k + p + 1))
    return mesh(name, verts, faces, mat, crease=crease)


def spline(points, n):
    """n points along a Catmull-Rom curve through the given points."""
    p = [Vector(q) for q in points]
    p = [2 * p[0] - p[1]] + p + [2 * p[-1] - p[-2]]
    out = []
    for i in range(n):
        t = i / (n - 1) * (len(p) - 3)
        k = min(int(t), len(p) - 4)
        t -= k
        a, b, c, d = p[k:k + 4]
        out.append(0.5 * ((2 * b) + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t * t
                          + (3 * b - a - 3 * c + d) * t ** 3))
    return out


def smooth_profile(points, n=28):
    return [(max(0.0, p.x), p.y) for p in spline([(r, z, 0) for r, z in points], n)]


def tube(name, points, radius, mat, seg=16, caps=True):
    """A round bar along points; radius is a number or a function of 0..1."""
    pts = [Vector(p) for p in points]
    verts, faces = [], []
    n = len(pts)
    up = Vector((0.3, 0.2, 1)).normalized()
    for i, p in enumerate(pts):
        d = (pts[min(i + 1, n - 1)] - pts[max(i - 1, 0)]).normalized()
        a = d.cross(up)
        if a.length < 0.05:
            a = d.cross(Vector((1, 0, 0)))
        a.normalize()
        b = d.cross(a).normalized()
        r = radius(i / (n - 1)) if callable(radius) else radius
        for s in range(seg):
            verts.append(p + (a * math.cos(TAU * s / seg) + b * math.sin(TAU * s / seg)) * r)
    for i in range(n - 1):
        for s in range(seg):
            t = (s + 1) % seg
            faces.append((i * seg + s, i * seg + t, (i + 1) * seg + t, (i + 1) * seg + s))
    if caps:
        faces.append(tuple(range(seg - 1, -1, -1)))
        faces.append(tuple(range((n - 1) * seg, n * seg)))
    return mesh(name, verts, faces, mat, crease=50)


def ball(name, r, mat, seg=32):
    ring = seg // 2
    return lathe(name, [(r * math.sin(math.pi * i / ring), -r * math.cos(math.pi * i / ring))
                        for i in range(ring + 1)], mat, seg, 60)


def box(name, size, mat, bevel=0.008):
    x, y, z = (s / 2 for s in size)
    v = [(a, b, c) for a in (-x, x) for b in (-y, y) for c in (-z, z)]
    f = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    ob = mesh(name, v, f, mat, smooth=False)
    if bevel:
        b = ob.modifiers.new("bevel", "BEVEL")
        b.width, b.segments = bevel, 2
    return ob


# ---------------------------------------------------------------- the club shirt


def shirt_mesh():
    """Front and back of a jersey laid flat, sewn at shoulders, sleeves and sides.

    Returns vertices, faces and uvs; x across, z down from the shoulder line, y out of the
    cloth. The neck, cuffs and lower hem stay open.
    """
    step = 0.0125
    half, cuff, drop, length = 0.30, CUFF, 0.200, 0.80
    nx, nz = round(cuff / step), round(length / step)
    hx, dz = round(half / step), round(drop / step)

    def inside(i, k):  # the cell between columns i, i+1 and rows k, k+1
        x, z = (i + 0.5) * step, (k + 0.5) * step
        if abs(x) > half and k >= dz:
            return False
        return True

    def neck(side):
        return (0.088, 0.105 if side < 0 else 0.028)

    verts, faces, uvs, index = [], [], [], {}

    def vertex(i, k, side):
        ax = abs(i)
        seam = (k == 0 or (ax == hx and k >= dz) or (k == dz and ax >= hx))
        key = (i, k, 0 if seam else side)
        if key in index:
            return index[key]
        x, z = i * step, k * step
        # distance to the nearest seam lets the two sides swell apart
        if ax > hx:
            d = min(k, dz - k) * step
        else:
            d = min(k * step, math.hypot((hx - ax) * step, max(0, (dz - k) * step)))
        y = side * 0.060 * (1 - math.exp(-max(0, d) / 0.035)) if not seam else 0.0
        # shoulders slope, the body flares a little to the hem
        flare = 1 + 0.12 * max(0, z - drop) / (length - drop) * min(1, ax / hx)
        zz = -z - 0.07 * (abs(x) / cuff) ** 1.3 * max(0, 1 - z / 0.5)
        # curve of the armpit
        a = math.hypot(ax - hx, k - dz) * step
        if a < 0.06:
            zz -= 0.012 * (1 - a / 0.06)
        verts.append((x * flare, y, zz))
        uvs.append((x, z))
        index[key] = len(verts) - 1
        return index[key]

    for side in (-1, 1):
        for i in range(-nx, nx):
            for k in range(nz):
                if not inside(i, k):
                    continue
                x, z = (i + 0.5) * step, (k + 0.5) * step
                rx, rz = neck(side)
                if (x / rx) ** 2 + (z / rz) ** 2 < 1:
                    continue
                q = [vertex(i, k, side), vertex(i + 1, k, side), vertex(i + 1, k + 1, side), vertex(i, k + 1, side)]
                faces.append(tuple(q if side > 0 else q[::-1]))
    # pull the ragged neck line onto its curve
    for (i, k, s), at in index.items():
        rx, rz = neck(s if s else -1)
        x, z = i * step, k * step
        r = math.hypot(x / rx, z / rz)
        if k == 0 or s == 0:
            continue
        if r < 1.16:
            f = 1 / r if r > 0 else 1
            v = verts[at]
            verts[at] = (x * f, v[1], v[2] - z * (f - 1))
    return verts, faces, uvs


def neck_loop(ob):
    """The vertices round the neck in order: the open edge nearest the middle of the shoulders."""
    count = {}
    for p in ob.data.polygons:
        for e in p.edge_keys:
            count[e] = count.get(e, 0) + 1
    near = {}
    for (a, b), k in count.items():
        if k == 1:
            near.setdefault(a, []).append(b)
            near.setdefault(b, []).append(a)
    start = max((v for v in near if ob.data.vertices[v].co.z > -0.3 and abs(ob.data.vertices[v].co.x) < 0.12),
                key=lambda v: ob.data.vertices[v].co.y)
    loop, last = [start], None
    while True:
        step = [v for v in near[loop[-1]] if v != last]
        last = loop[-1]
        if not step or step[0] == start:
            return loop
        loop.append(step[0])


def shirt(mat, rib, centre, pole_z, cache, frames=70):
    """The jersey hung on the oar by its sleeves, let fall by the cloth solver."""
    verts, faces, uvs = shirt_mesh()
    used = sorted({i for f in faces for i in f})
    renum = {v: i for i, v in enumerate(used)}
    verts, uvs = ([a[i] for i in used] for a in (verts, uvs))
    faces = [tuple(renum[i] for i in f) for f in faces]
    ob = mesh("shirt", verts, faces, mat, uvs=uvs)
    ob.location = (centre[0], centre[1], pole_z + 0.125)
    if cache and os.path.exists(cache):
        for v, c in zip(ob.data.vertices, json.load(open(cache))):
            v.co = c
    else:
        steel = plain("sim", (0.5, 0.5, 0.5))
        bar = tube("bar", [(x, 0, 0) for x in (-1.2, -0.6, 0, 0.6, 1.2)], 0.022, steel, 20)
        bar.location = (centre[0], centre[1], pole_z)
        bar.rotation_euler = (0, POLE_TILT, 0)
        bar.modifiers.new("collision", "COLLISION")
        bar.collision.thickness_outer = 0.006
        bar.collision.cloth_friction = 22
        # it starts pushed together along the oar, so that it has cloth to spare for folds
        rest = ob.shape_key_add(name="rest")
        start = ob.shape_key_add(name="start")
        start.value = 1.0
        for i, (x, y, z) in enumerate(verts):
            deep = min(1.0, max(0.0, (-z - 0.12) / 0.3))
            start.data[i].co = (x * 0.87, y + deep * 0.022 * math.sin(31 * x + 2.2 * z + 0.6) + 0.012 * deep * math.sin(53 * x - 3 * z), z)
        c = ob.modifiers.new("cloth", "CLOTH")
        s = c.settings
        s.rest_shape_key = rest
        s.quality = 10
        s.mass = 0.16
        s.tension_stiffness = s.compression_stiffness = 22
        s.shear_stiffness = 9
        s.bending_stiffness = 0.09
        s.air_damping = 1.2
        s.shrink_min = -0.02
        c.collision_settings.collision_quality = 4
        c.collision_settings.distance_min = 0.006
        c.collision_settings.use_self_collision = True
        c.collision_settings.self_distance_min = 0.005
        wind = bpy.data.objects.new("wind", None)
        bpy.context.collection.objects.link(wind)
        wind.rotation_euler = Vector((0.55, 0.75, 0.12)).to_track_quat("Z", "Y").to_euler()
        wind.location = (-2, 0, 1)
        bpy.context.view_layer.objects.active = wind
        wind.select_set(True)
        bpy.ops.object.forcefield_toggle()
        wind.field.type = "WIND"
        wind.field.strength = 75
        wind.field.noise = 2.0
        wind.field.seed = 11
        c.point_cache.frame_end = frames
        sc = bpy.context.scene
        sc.frame_start, sc.frame_end = 1, frames
        for f in range(1, frames + 1):
            sc.frame_set(f)
        eva = ob.evaluated_get(bpy.context.evaluated_depsgraph_get())
        co = [tuple(v.co) for v in eva.data.vertices]
        ob.modifiers.remove(c)
        ob.shape_key_clear()
        for v, p in zip(ob.data.vertices, co):
            v.co = p
        if cache:
            json.dump(co, open(cache, "w"))
        bpy.data.objects.remove(bar)
        bpy.data.objects.remove(wind)
    ring = [ob.data.vertices[i].co.copy() for i in neck_loop(ob)]
    for _ in range(6):
        n = len(ring)
        ring = [(ring[i - 1] + ring[i] * 2 + ring[(i + 1) % n]) / 4 for i in range(n)]
    collar = tube("rib", ring + ring[:2], 0.0105, rib, 14, caps=False)
    collar.location = ob.location
    thick = ob.modifiers.new("thick", "SOLIDIFY")
    thick.thickness = 0.0022
    thick.offset = 0
    sub = ob.modifiers.new("fine", "SUBSURF")
    sub.levels = sub.render_levels = 2
    return ob


# ---------------------------------------------------------------- plants


class Leaves:
    """Collects many leaves into one object."""

    def __init__(self):
        self.v, self.f, self.uv, self.t = [], [], [], []

    def leaf(self, root, direction, length, width, up=(0, 0, 1), curl=0.3, fold=0.25, seed=0, nu=8, nv=14, shape=0.8):
        rnd = random.Random(seed)
        y = Vector(direction).normalized()
        x = y.cross(Vector(up)).normalized()
        z = x.cross(y)
        base = len(self.v)
        wave, ph = rnd.uniform(0.3, 1.0), rnd.uniform(0, 6)
        tint = rnd.uniform(0, 1) ** 1.5
        for j in range(nv + 1):
            t = j / nv
            w = width * 0.5 * math.sin(math.pi * t ** shape) ** 0.8 * (1 - 0.25 * t) if 0 < t < 1 else 0.0
            along = math.sin(curl * t) / curl if abs(curl) > 1e-3 else t
            sink = (1 - math.cos(curl * t)) / curl if abs(curl) > 1e-3 else 0
            for i in range(nu + 1):
                u = i / nu * 2 - 1
                h = -abs(u) * -fold * w + wave * 0.10 * w * math.sin(9 * t + ph + 2 * u) * abs(u)
                p = Vector(root) + y * (along * length) + x * (u * w) + z * (h - sink * length)
                self.v.append(p)
                self.uv.append((i / nu, t))
                self.t.append(tint)
        for j in range(nv):
            for i in range(nu):
                a = base + j * (nu + 1) + i
                self.f.append((a, a + 1, a + nu + 2, a + nu + 1))

    def done(self, name, mat):
        return mesh(name, self.v, self.f, mat, uvs=self.uv, attr=("tint", self.t))


def reeds(blade_mat, stem_mat, head_mat, plume_mat):
    rnd = random.Random(5)
    ls = Leaves()
    stems = []
    spots = []
    for _ in range(120):
        y = rnd.uniform(3.75, 5.6)
        left = -0.36 * y - 0.25
        x = left + abs(rnd.gauss(0, 0.36)) * y / 4
        spots.append((x, y))
    for n, (x, y) in enumerate(spots):
        h = rnd.uniform(0.85, 1.55) * (1 - 0.25 * max(0, (x + 0.36 * y) / 1.2))
        lean = rnd.gauss(0.06, 0.07)
        root = Vector((x, y, -0.05))
        for k in range(rnd.randint(3, 5)):
            az = rnd.uniform(0, TAU)
            tilt = rnd.uniform(0.05, 0.30)
            d = Vector((math.cos(az) * tilt + lean, math.sin(az) * tilt * 0.6, 1))
            ln = h * rnd.uniform(0.7, 1.1)
            ls.leaf(root + Vector((0, 0, rnd.uniform(0, 0.2) * h)), d, ln, rnd.uniform(0.018, 0.034),
                    up=(math.cos(az + 1.5), math.sin(az + 1.5), 0.2),
                    curl=rnd.uniform(0.15, 1.25), fold=0.5, seed=n * 9 + k, nu=2, nv=14, shape=0.45)
        if n % 4 == 0:
            top = root + Vector((lean * h * 1.1, 0, h * 1.12))
            pts = spline([root, (root + top) / 2 + Vector((-0.01, 0, 0)), top], 7)
            tube("stem", pts, 0.005, stem_mat, 8)
            a = pts[-2].lerp(pts[-1], 0.1)
            tube("head", [a + (pts[-1] - a) * t for t in (0, .04, .12, .5, .88, .96, 1)],
                 lambda t: 0.017 * min(1, 9 * t + .25, 9 * (1 - t) + .25), head_mat, 12)
            tube("tip", [pts[-1], pts[-1] + (pts[-1] - pts[-2]) * 0.5], 0.0025, stem_mat, 6)
    ls.done("reeds", blade_mat)


def branch(mat, bark):
    """The overhanging branch in the upper left corner."""
    rnd = random.Random(21)
    ls = Leaves()
    lines = [[(-1.25, 2.55, 1.74), (-0.95, 2.5, 1.66), (-0.66, 2.45, 1.60), (-0.40, 2.42, 1.50)],
             [(-1.25, 2.60, 1.52), (-1.0, 2.5, 1.50), (-0.82, 2.42, 1.42), (-0.70, 2.38, 1.30)],
             [(-0.85, 2.48, 1.63), (-0.62, 2.40, 1.66), (-0.36, 2.36, 1.64), (-0.14, 2.34, 1.585)]]
    k = 0
    for line in lines:
        pts = spline(line, 26)
        tube("twig", pts, lambda t: 0.009 * (1 - t) + 0.0025, bark, 8)
        for i in range(4, 26):
            if i % 2 and rnd.random() < 0.35:
                continue
            for sgn in (-1, 1):
                if rnd.random() < 0.15:
                    continue
                along = (pts[i] - pts[i - 1]).normalized()
                d = along * 0.7 + Vector((rnd.gauss(0, .25), rnd.gauss(-0.1, .35), sgn * 0.55 - 0.45 + rnd.gauss(0, .25)))
                ls.leaf(pts[i], d, rnd.uniform(0.075, 0.125), rnd.uniform(0.048, 0.07),
                        up=(rnd.gauss(-.35, .3), -0.75, rnd.uniform(0.2, 0.8)), curl=rnd.uniform(-0.2, 0.9), fold=0.22, seed=k)
                k += 1
        ls.leaf(pts[-1], pts[-1] - pts[-2], 0.11, 0.055, up=(-.2, -.8, .5), seed=k)
    ls.done("branch", mat)


def bank_leaves(mat, stem):
    """Broad leaves in front of the jetty, lower left."""
    rnd = random.Random(33)
    ls = Leaves()
    tops = [(-0.74, 2.40, 0.70, -25), (-0.56, 2.34, 0.66, 18), (-0.86, 2.50, 0.80, -10), (-0.42, 2.40, 0.555, 38),
            (-0.68, 2.24, 0.585, 0), (-0.27, 2.36, 0.475, 48), (-0.80, 2.28, 0.56, -40), (-0.50, 2.20, 0.53, 22),
            (-0.90, 2.40, 0.64, -30), (-0.13, 2.44, 0.42, 58), (-0.36, 2.24, 0.455, 28), (-0.80, 2.18, 0.47, -20),
            (-0.62, 2.14, 0.475, 8), (-0.52, 2.48, 0.70, 25), (-0.70, 2.55, 0.84, 5), (-0.76, 2.10, 0.50, -8),
            (-0.44, 2.10, 0.42, 15), (-0.24, 2.22, 0.40, 40), (-0.64, 2.44, 0.60, -15), (-0.88, 2.22, 0.55, -45)]
    for k, (x, y, z, az) in enumerate(tops):
        a = math.radians(az)
        d = Vector((math.sin(a), -0.55, 0.35 + rnd.uniform(-.2, .15)))
        root = Vector((x, y, z))
        foot = Vector((x * 0.9 - 0.05, y + 0.12, 0.0))
        tube("stalk", spline([foot, (foot + root) / 2 + Vector((0, .03, .05)), root], 10), 0.006, stem, 8)
        ls.leaf(root, d, rnd.uniform(0.20, 0.27), rnd.uniform(0.15, 0.19), up=(-0.35, -0.35, 1),
                curl=rnd.uniform(0.6, 1.2), fold=0.22, seed=100 + k, nu=14, nv=24, shape=0.62)
    ls.done("bank", mat)


# ---------------------------------------------------------------- rowers


def figure(at, yaw, skin, dress, trim, top, hat=None, oar=None, m=None, tilt=0):
    """A painted wooden rower, seated, facing -y before yaw. at is the seat."""
    g = group(at, (0, 0, yaw))
    body = smooth_profile([(0.165, -0.05), (0.168, 0.04), (0.175, 0.20), (0.190, 0.34), (0.165, 0.425), (0.085, 0.468), (0.0, 0.472)], 36)
    place(lathe("torso", body, dress, 64), scale=(1.12, 0.82, 1), parent=g)
    # a painted hoop round the chest and a collar
    hoop = [(r * 1.012, z) for r, z in body if 0.215 < z < 0.285]
    place(lathe("hoop", hoop, trim, 64), scale=(1.12, 0.82, 1), parent=g)
    place(lathe("collar", smooth_profile([(0.088, 0.44), (0.098, 0.462), (0.088, 0.484), (0.06, 0.49)], 12), trim, 48), parent=g)
    place(lathe("neck", smooth_profile([(0.066, 0.44), (0.060, 0.50), (0.066, 0.56)], 10), skin, 40), parent=g)
    head = group((0, 0, 0.655), (tilt, 0, 0), 1, g)
    rz, rr = 0.165, 0.142
    prof = []
    for i in range(33):
        a = math.pi * i / 32
        prof.append((rr * math.sin(a) ** 0.92 * (1 + 0.05 * math.cos(a)) if 0 < i < 32 else 0.0, -rz * math.cos(a)))
    prof = [(r * (1.0 if z > -0.03 else 1 - 0.10 * ((-z - 0.03) / 0.135) ** 1.5), z) for r, z in prof]
    place(lathe("head", prof, skin, 64, 80), parent=head)

    def skin_at(x, z, proud=0.0):
        """The point of the face in front of x, z."""
        k = max(i for i in range(len(prof) - 1) if prof[i][1] <= z)
        (r0, z0), (r1, z1) = prof[k], prof[k + 1]
        r = r0 + (r1 - r0) * (z - z0) / (z1 - z0) + proud
        return (x, -math.sqrt(r * r - x * x), z)

    # nose, ears, eyes, brows, mouth: as a turner and a fine brush would make them
    place(ball("nose", 0.023, skin), (0, -0.140, -0.012), scale=(0.9, 1, 1.15), parent=head)
    for s in (-1, 1):
        place(ball("ear", 0.030, skin), (s * 0.140, 0.008, -0.01), scale=(0.5, 0.9, 1.1), parent=head)
        place(ball("eye", 0.0125, m["ink"], 20), skin_at(s * 0.050, 0.028), (0, 0, s * 20), (0.9, 0.35, 1.25), head)
        brow = spline([skin_at(s * 0.031, 0.060, 0.001), skin_at(s * 0.050, 0.067, 0.001), skin_at(s * 0.070, 0.061, 0.001)], 9)
        place(tube("brow", brow, lambda t: 0.0038 - 0.0022 * abs(2 * t - 1), top, 8), parent=head)
    arc = [skin_at(0.034 * math.sin(a), -0.050 - 0.020 * math.cos(a), 0.0005) for a in [-1.15 + 2.3 * i / 14 for i in range(15)]]
    place(tube("mouth", arc, lambda t: 0.0036 - 0.0016 * abs(2 * t - 1), m["lip"], 8), parent=head)
    # hair: the back and top of the same turning, a little proud of it
    hv, hf = [], []
    sc = 1.035
    n, k = 64, len(prof)
    for i in range(n):
        for r, z in prof:
            hv.append((r * sc * math.cos(TAU * i / n), r * sc * math.sin(TAU * i / n), z * 1.02 + 0.003))
    for i in range(n):
        for p in range(k - 1):
            j = (i + 1) % n
            mid = (Vector(hv[i * k + p]) + Vector(hv[j * k + p + 1])) / 2
            front = -mid.y / rr
            if mid.z / rz > 0.52 if front > 0.15 else mid.z / rz > -0.42 + 0.9 * max(0, front + 0.1) + 0.2 * abs(mid.x / rr):
                hf.append((i * k + p, j * k + p, j * k + p + 1, i * k + p + 1))
    hair = mesh("hair", hv, hf, top)
    so = hair.modifiers.new("thick", "SOLIDIFY")
    so.thickness, so.offset = 0.010, 1
    place(hair, parent=head)
    if hat == "boater":
        place(lathe("brim", smooth_profile([(0.10, 0.0), (0.21, -0.004), (0.214, 0.002), (0.21, 0.008), (0.13, 0.010)], 16), m["straw"], 64), (0, 0, 0.085), parent=head)
        place(lathe("crown", [(0.137, 0), (0.139, 0.072), (0.134, 0.079), (0, 0.081)], m["straw"], 64), (0, 0, 0.092), parent=head)
        place(lathe("band", [(0.1405, 0.004), (0.1415, 0.040)], m["redpaint"], 64), (0, 0, 0.092), parent=head)
    if hat == "cap":
        place(lathe("cap", smooth_profile([(0.149, 0.045), (0.154, 0.085), (0.140, 0.135), (0.085, 0.172), (0, 0.180)], 24), m["navy"], 64), parent=head)
        place(lathe("capband", [(0.1515, 0.046), (0.1545, 0.070)], trim, 64), parent=head)
        peak = [(0.158 * math.cos(a) * f, 0.158 * math.sin(a) * f, 0.055 - (f - 0.9) * 0.10)
                for a in [math.radians(200 + 140 * i / 16) for i in range(17)] for f in (0.92, 1.1, 1.40)]
        pf = [(3 * i + j, 3 * i + j + 1, 3 * i + j + 4, 3 * i + j + 3) for i in range(16) for j in range(2)]
        pk = mesh("peak", peak, pf, m["navy"])
        so = pk.modifiers.new("thick", "SOLIDIFY")
        so.thickness = 0.008
        place(pk, parent=head)
    # arms: sleeve, bare forearm, hands on the oar's shaft
    ox, oy = oar if oar else (0.0, -0.27)
    for s, grip in ((-1, 0.16), (1, 0.34)):
        sh = Vector((s * 0.200, 0.0, 0.385))
        hand = Vector((ox + s * 0.004, oy + 0.012, grip)) if oar else Vector((s * 0.075, oy, 0.10))
        mid = (sh + hand) / 2 + Vector((s * 0.10, 0.03, -0.085))
        place(ball("shoulder", 0.062, dress), sh, parent=g)
        cuff = sh.lerp(mid, 0.55)
        place(tube("sleeve", [sh, sh.lerp(cuff, .5), cuff], lambda t: 0.060 - 0.004 * t, dress, 28), parent=g)
        place(tube("cuff", [sh.lerp(cuff, .9), cuff + (cuff - sh) * 0.02], 0.0585, trim, 28), parent=g)
        place(tube("upper", [cuff, mid], lambda t: 0.047 - 0.004 * t, skin, 28), parent=g)
        place(ball("elbow", 0.044, skin), mid, parent=g)
        place(tube("fore", [mid, mid.lerp(hand, .3), mid.lerp(hand, .6), hand],
                   lambda t: 0.043 + 0.006 * math.sin(math.pi * min(1, 1.4 * t)) - 0.012 * t, skin, 28), parent=g)
        place(ball("hand", 0.046, skin), hand, scale=(1, 1, 1.1), parent=g)
    return g


def oar(base, top, roll, shaft, blade_mats, collar, blade_len=0.46):
    """An oar with its handle at base and its blade's end at top."""
    b, t = Vector(base), Vector(top)
    ln = (t - b).length
    g = group()
    g.matrix_world = Matrix.Translation(b) @ (t - b).to_track_quat("Z", "Y").to_matrix().to_4x4() @ Matrix.Rotation(math.radians(roll), 4, "Z")
    place(tube("shaft", [(0, 0, ln * f) for f in (0, .02, .1, .3, .6, 1 - blade_len * 0.3 / ln)],
               lambda u: 0.0185 if u < 0.2 else 0.0225 - 0.006 * u, shaft, 24), parent=g)
    place(tube("leather", [(0, 0, ln * 0.30), (0, 0, ln * 0.38)], 0.0255, collar, 24), parent=g)
    v, f, uv = [], [], []
    nu, nv = 10, 26
    for j in range(nv + 1):
        s = j / nv
        w = 0.020 + 0.068 * (min(1, s * 1.7) ** 1.3) * (1 - 0.10 * s)
        if s > 0.94:
            w *= math.sqrt(max(0.0, 1 - ((s - 0.94) / 0.06) ** 2)) * 0.35 + 0.65
        for i in range(nu + 1):
            u = i / nu * 2 - 1
            v.append((u * w, 0.012 * (u * u) - 0.02 * s * s, ln - blade_len + s * blade_len))
    third = [[], [], []]
    for j in range(nv):
        for i in range(nu):
            a = j * (nu + 1) + i
            s = (j + 0.5) / nv
            third[0 if s < 0.42 else 1 if s < 0.56 else 2].append((a, a + 1, a + nu + 2, a + nu + 1))
    for faces, mat in zip(third, blade_mats):
        o = mesh("blade", v, faces, mat)
        so = o.modifiers.new("thick", "SOLIDIFY")
        so.thickness, so.offset = 0.010, 0
        place(o, parent=g)
    return g


# ---------------------------------------------------------------- boat, jetty, sails


def hull(m, at, yaw):
    """A clinker-built gig, tarred, bow to the left."""
    g = group(at, (0, 0, yaw))
    L, strakes, sub, n = 2.7, 7, 5, 120

    def half(t):
        return 0.60 * max(0.0, 1 - abs(t) ** 2.3) ** 0.75 + 0.012

    def sheer(t):
        return 0.50 + 0.20 * t * t

    def point(t, s, out, side):
        b, zs = half(t), sheer(t)
        keel = -0.16 + 0.30 * max(0, abs(t) - 0.75) ** 2 * 8
        y = b * max(0.0, math.cos(s * math.pi / 2)) ** 0.62
        z = zs + (keel - zs) * (0.72 * s + 0.28 * s * s)
        x = t * L - 0.10 * (1 - s) * (1 if t < 0 else -1) * abs(t) ** 6
        return (x, side * (y + out * min(1, b / 0.12)), z)

    for side in (-1, 1):
        v, f = [], []
        for i in range(n + 1):
            t = -1 + 2 * i / n
            for k in range(strakes):
                for j in range(sub + 1):
                    s = (k + j / sub) / strakes
                    v.append(point(t, min(s, 0.999), 0.020 * (j / sub), side))
        row = strakes * (sub + 1)
        for i in range(n):
            for r in range(row - 1):
                a = i * row + r
                q = (a, a + 1, a + row + 1, a + row)
                f.append(q if side > 0 else q[::-1])
        place(mesh("strakes", v, f, m["tar"], crease=28), parent=g)
        # inner skin, gunwale and rubbing strake of varnished wood, copper rivets along each lap
        vi = [Vector(point(-1 + 2 * i / n, s, -0.016, side)) for i in range(n + 1) for s in [j / 10 for j in range(10)]]
        fi = [(i * 10 + j, i * 10 + j + 1, (i + 1) * 10 + j + 1, (i + 1) * 10 + j) for i in range(n) for j in range(9)]
        place(mesh("lining", vi, fi, m["varnish"]), parent=g)
        rail = [Vector(point(-1 + 2 * i / n, 0.0, 0.006, side)) + Vector((0, 0, 0.008)) for i in range(n + 1)]
        place(tube("gunwale", rail, 0.024, m["varnish"], 12), parent=g)
        rub = [Vector(point(-1 + 2 * i / n, 1 / strakes, 0.026, side)) for i in range(n + 1)]
        place(tube("rub", rub, 0.013, m["whitepaint"], 10), parent=g)
        if side < 0:
            one = ball("rivet", 0.0055, m["copper"], 10)
            place(one, (0, 0, -9), parent=g)
            for k in range(1, 6):
                for i in range(3, 70):
                    t = -1 + 2 * (i + 0.5 * (k % 2)) / 110
                    r = bpy.data.objects.new("rivet", one.data)
                    bpy.context.collection.objects.link(r)
                    p = point(t, (k - 0.10) / strakes, 0.020, side)
                    place(r, p, parent=g)
    # stem with its brass band, thwarts, rowlocks
    stem = [(-L - 0.10, 0, sheer(1) + 0.16), (-L - 0.095, 0, sheer(1) - 0.02), (-L - 0.02, 0, 0.42), (-L + 0.03, 0, 0.15), (-L + 0.14, 0, -0.2)]
    place(tube("stem", spline(stem, 24), 0.032, m["tar"], 16), parent=g)
    place(tube("band", [p + Vector((-0.012, 0, 0)) for p in spline(stem, 24)[3:16]], 0.027, m["brass"], 16), parent=g)
    place(lathe("cap", smooth_profile([(0.040, -0.03), (0.042, 0.0), (0.036, 0.02), (0.0, 0.035)], 14), m["brass"]), (-L - 0.10, 0, sheer(1) + 0.165), parent=g)
    for t in (-0.695, -0.495, -0.293, -0.09):
        b = half(t)
        place(box("thwart", (0.18, 1.2 * b, 0.03), m["varnish"]), (t * L, 0, 0.34), parent=g)
    for t in (-0.595, -0.394, -0.19):
        p = Vector(point(t, 0, 0.0, -1)) + Vector((0, 0, 0.03))
        place(lathe("seat", smooth_profile([(0.030, 0), (0.030, 0.012), (0.013, 0.02), (0.011, 0.05)], 12), m["brass"]), p, parent=g)
        u = [(0.045 * math.sin(a), 0, 0.085 - 0.045 * math.cos(a)) for a in [math.radians(-150 + 300 * i / 20) for i in range(21)]]
        place(tube("horn", [Vector(q) for q in u], lambda t: 0.0085 + 0.003 * abs(2 * t - 1), m["brass"], 14), p, parent=g)
    return g


def sail_boat(at, yaw, size, m, heel=4, jib=True, seed=0):
    """A gaffless dinghy with a white main and jib; size is the height of the mast."""
    g = group(at, (0, heel, yaw), size)

    def tri(name, tack, head, clew, belly, roach):
        a, b, c = Vector(tack), Vector(head), Vector(clew)
        n = 28
        v, f, uv = [], [], []
        for j in range(n + 1):
            t = j / n
            luff = a.lerp(b, t)
            leech = c.lerp(b, t) + (c - a) * (roach * math.sin(math.pi * t))
            for i in range(n + 1):
                s = i / n
                p = luff.lerp(leech, s)
                p = p + Vector((0, 1, 0)) * belly * math.sin(math.pi * s ** 0.75) * (1 - t) ** 0.6 * (0.4 + 0.6 * math.sin(math.pi * min(1, t + .35)))
                v.append(p)
                uv.append((s, t))
        for j in range(n):
            for i in range(n):
                q = j * (n + 1) + i
                f.append((q, q + 1, q + n + 2, q + n + 1))
        place(mesh(name, v, f, m["sail"], uvs=uv), parent=g)

    tri("main", (0.01, 0, 0.16), (0.0, 0, 0.98), (0.47, 0.02, 0.15), 0.075, 0.12)
    if jib:
        tri("jib", (-0.27, 0, 0.10), (-0.012, 0, 0.80), (0.03, 0.05, 0.15), 0.06, 0.02)
    place(tube("mast", [(0, 0, 0.02), (0, 0, 0.5), (0, 0, 1.0)], lambda t: 0.009 - 0.004 * t, m["varnish"], 10), parent=g)
    place(tube("boom", [(0, 0, 0.145), (0.47, 0.02, 0.135)], 0.007, m["varnish"], 10), parent=g)
    v, f = [], []
    n = 30
    for i in range(n + 1):
        t = i / n * 2 - 1
        b = 0.10 * (1 - abs(t) ** 2.2) ** 0.7 if t < 0 else 0.10 * (1 - 0.25 * t * t)
        for y, z in ((-b, 0.075 + 0.03 * t * t), (-b * 0.85, 0.0), (0, -0.03), (b * 0.85, 0.0), (b, 0.075 + 0.03 * t * t)):
            v.append((0.42 * t + 0.12, y, z))
    for i in range(n):
        for j in range(4):
            q = i * 5 + j
            f.append((q, q + 5, q + 6, q + 1))
        f.append((i * 5, i * 5 + 4, i * 5 + 9, i * 5 + 5))
    place(mesh("dinghy", v, f, m["hullpaint"][seed % len(m["hullpaint"])], crease=40), parent=g)
    for k in range(2):
        place(ball("crew", 0.022, m["skins"][(seed + k) % 4], 16), (0.13 + 0.10 * k, -0.07, 0.165), parent=g)
        place(lathe("crewbody", smooth_profile([(0.026, 0), (0.030, 0.05), (0.012, 0.075)], 8), (m["redpaint"], m["navy"], m["whitepaint"])[(seed + k) % 3], 20), (0.13 + 0.10 * k, -0.07, 0.072), parent=g)


def jetty(m):
    rnd = random.Random(2)
    y = 2.52
    while y < 3.75:
        w = 0.135 + rnd.uniform(-.008, .008)
        b = box("plank", (1.95, w - 0.012, 0.035), m["plank"], 0.006)
        place(b, (-0.62 + rnd.uniform(-.02, .02), y + w / 2, 0.30 + rnd.uniform(-.003, .003)), (rnd.gauss(0, .4), rnd.gauss(0, .25), rnd.gauss(0, .3)))
        b.data = b.data.copy()
        y += w
    place(box("beam", (0.10, 1.3, 0.16), m["plank"]), (0.27, 3.1, 0.20))
    for x, yy in ((0.27, 3.62),):
        place(lathe("pile", smooth_profile([(0.062, -0.4), (0.060, 0.0), (0.058, 0.40), (0.050, 0.425), (0, 0.43)], 16), m["post"], 32), (x + 0.07, yy, 0))


def post(x, y, top, m):
    place(lathe("post", [(0.043, -0.3), (0.042, 0.4), (0.040, top - 0.09), (0.044, top - 0.085), (0.044, top - 0.06), (0.036, top - 0.05), (0.033, top)], m["post"], 36), (x, y, 0))
    # a forked crutch of brass carries the oar
    u = [(0, 0.036 * math.sin(a) * 1.0, 0.040 - 0.040 * math.cos(a)) for a in [math.radians(-115 + 230 * i / 20) for i in range(21)]]
    place(tube("crutch", u, 0.0085, m["brass"], 14), (x, y, top + 0.008))
    place(lathe("ferrule", smooth_profile([(0.036, 0), (0.038, 0.015), (0.030, 0.03), (0.015, 0.04), (0.012, 0.05)], 14), m["brass"]), (x, y, top - 0.035))


def bell(at, m):
    x, y, z = at
    k = 1.0
    prof = smooth_profile([(0.085, 0.0), (0.083, 0.010), (0.068, 0.035), (0.058, 0.075), (0.054, 0.110), (0.048, 0.130), (0.028, 0.145), (0.0, 0.150)], 48)
    place(lathe("bell", prof, m["brass"], 72), (x, y, z))
    place(lathe("lip", smooth_profile([(0.079, 0.004), (0.088, -0.002), (0.088, 0.006), (0.082, 0.012)], 12), m["brass"], 72), (x, y, z))
    for zz in (0.052, 0.058):
        place(lathe("bead", [(0.0625 - (zz - 0.052) * .2, zz), (0.0645 - (zz - 0.052) * .2, zz + 0.0015), (0.0625 - (zz - 0.052) * .2, zz + 0.003)], m["brass"], 72), (x, y, z))
    place(ball("clapper", 0.014, m["brass"]), (x, y, z - 0.012))
    ring = [(0.016 * math.cos(a), 0, 0.016 * math.sin(a)) for a in [TAU * i / 24 for i in range(25)]]
    place(tube("ring", ring, 0.0045, m["brass"], 10, caps=False), (x, y, z + 0.164))
    # lanyard from the clapper
    rp = spline([(x, y, z - 0.02), (x + .003, y - .003, z - 0.05), (x - .003, y, z - 0.08), (x, y, z - 0.11)], 30)
    tube("lanyard", rp, lambda t: 0.006 + 0.0012 * math.sin(90 * t), m["rope"], 10)
    place(ball("knot", 0.013, m["rope"], 16), rp[-1], scale=(1, 1, 1.4))


def rope_coil(at, m):
    x, y, z = at
    pts = []
    for i in range(420):
        a = TAU * i / 60
        r = 0.125 - 0.004 * math.sin(a * 0.37) + 0.006 * math.sin(a * 1.7 + i * .01)
        lay = i // 60
        r -= 0.030 * (lay % 2)
        pts.append((x + r * math.cos(a), y + r * math.sin(a) * 0.95, z + 0.012 + 0.020 * (lay // 2) + 0.004 * math.sin(a * 2.3)))
    tail = spline([pts[-1], (x + .2, y - .02, z + .03), (x + .33, y - .12, z + .012), (x + .48, y - .06, z + .012), (x + .62, y - .16, z + .012)], 60)
    tube("coil", pts + tail[1:], 0.0115, m["rope"], 10)


def pennants(a, b, sag, mats, n, size, m):
    a, b = Vector(a), Vector(b)
    pts = [a.lerp(b, i / 60) - Vector((0, 0, sag * 4 * (i / 60) * (1 - i / 60))) for i in range(61)]
    tube("line", pts, 0.0035, m["rope"], 6)
    rnd = random.Random(9)
    for k in range(n):
        t = (k + 0.5) / n
        p = a.lerp(b, t) - Vector((0, 0, sag * 4 * t * (1 - t)))
        d = (b - a).normalized()
        d = Vector((d.x, d.y, d.z - sag * 4 * (1 - 2 * t) / (b - a).length)).normalized()
        blow = rnd.uniform(0.15, 0.5)
        v, f = [], []
        q = 10
        for j in range(q + 1):
            s = j / q
            for i in range(q + 1):
                u = (i / q - 0.5) * (1 - s) * 0.95
                wob = 0.08 * size * math.sin(5 * s + k * 2.1 + 4 * u) * s
                v.append(p + d * (u * size) + Vector((blow * 0.35 * s * size, blow * s * size + wob, -s * size * (1.25 - 0.3 * blow))))
        for j in range(q):
            for i in range(q):
                e = j * (q + 1) + i
                f.append((e, e + 1, e + q + 2, e + q + 1))
        mesh("pennant", v, f, mats[k % len(mats)])


# ---------------------------------------------------------------- far things


def hills(m):
    for dist, base, amp, seed, mat, lo, hi in ((420, 9, 16, 3, m["hill2"], -0.9, 0.9), (190, 3.5, 5.5, 8, m["hill1"], -0.9, 0.9)):
        v, f = [], []
        n = 400
        for i in range(n + 1):
            t = i / n
            x = dist * (lo + (hi - lo) * t)
            e = noise.fractal((x / dist * 4.0 + seed, seed, 0), 1.0, 2.0, 2 if dist > 300 else 6)
            rough = 0.16 * noise.noise((x * 0.35, seed, 1)) + 0.10 * noise.noise((x * 0.9, seed, 2)) if dist < 300 else 0.02 * noise.noise((x * .2, 0, 0))
            side = 0.45 + 0.75 * abs(t - 0.42)
            h = max(0.6, base + amp * (0.42 * e + side * 0.55) + amp * rough)
            v += [(x, dist, -0.5), (x, dist + 3, h * 0.6), (x, dist + 8, h)]
        for i in range(n):
            for j in range(2):
                q = i * 3 + j
                f.append((q, q + 3, q + 4, q + 1))
        mesh("hills", v, f, mat)


def haze(name, base, share, glow):
    """Distant ground: mostly air between, so mostly a light of its own."""
    m, n = material(name)
    c = n.mix(n.noise(n.coords((1, 1, 1)), 0.22, 6.0, 0.65), times(base, 0.55), times(base, 1.35))
    d = n.new("ShaderNodeBsdfDiffuse", Color=c).outputs[0]
    e = n.new("ShaderNodeEmission", Color=glow, Strength=1.0).outputs[0]
    x = n.new("ShaderNodeMixShader", Fac=share)
    n.link(d, x.inputs[1])
    n.link(e, x.inputs[2])
    n.surface(x.outputs[0])
    return m


def water(mat):
    v = [(-600, -30, 0), (600, -30, 0), (600, 600, 0), (-600, 600, 0)]
    mesh("water", v, [(0, 1, 2, 3)], mat, smooth=False)


def water_material():
    m, n = material("water")
    v = n.coords((1, 1.0, 1))
    swell = n.noise(n.coords((0.5, 0.9, 1)), 1.1, 2.0, 0.45, 0.6)
    chop = n.noise(v, 4.2, 3.0, 0.5, 0.3)
    fine = n.noise(v, 15.0, 2.0, 0.5)
    h = n.math("ADD", n.math("MULTIPLY", swell, 1.0), n.math("ADD", n.math("MULTIPLY", chop, 0.24), n.math("MULTIPLY", fine, 0.035)))
    cam = n.t.nodes.new("ShaderNodeCameraData")
    fade = n.math("DIVIDE", 4.0, n.math("ADD", cam.outputs["View Distance"], 4.0))
    bump = n.t.nodes.new("ShaderNodeBump")
    bump.inputs["Distance"].default_value = 0.22
    n.link(h, bump.inputs["Height"])
    n.link(n.math("MULTIPLY", fade, 0.85), bump.inputs["Strength"])
    fr = n.new("ShaderNodeFresnel", IOR=1.333)
    n.link(bump.outputs[0], fr.inputs["Normal"])
    deep = n.new("ShaderNodeBsdfDiffuse", Color=lch(21, 13, 195)).outputs[0]
    gl = n.new("ShaderNodeBsdfGlossy", Color=(0.96, 0.97, 0.98), Roughness=0.035)
    n.link(bump.outputs[0], gl.inputs["Normal"])
    x = n.t.nodes.new("ShaderNodeMixShader")
    n.link(fr.outputs[0], x.inputs[0])
    n.link(deep, x.inputs[1])
    n.link(gl.outputs[0], x.inputs[2])
    n.surface(x.outputs[0])
    return m


def sky(sun):
    """A pale evening sky: light and a little warm at the horizon, cooler above, brighter near the sun."""
    w = bpy.data.worlds.new("sky")
    bpy.context.scene.world = w
    w.use_nodes = True
    n = Nodes(w.node_tree)
    d = n.t.nodes.new("ShaderNodeTexCoord").outputs["Generated"]
    sep = n.new("ShaderNodeSeparateXYZ", Vector=d)
    z = n.math("MAXIMUM", sep.outputs[2], 0.0)
    up = n.math("POWER", z, 0.62)
    c = n.ramp(up, [(0.0, lch(93, 13, 76)), (0.13, lch(92, 9, 70)), (0.29, lch(88, 5, 275)), (0.46, lch(82, 14, 258)), (0.75, lch(68, 25, 262)), (1.0, lch(58, 30, 266))], False)
    dot = n.t.nodes.new("ShaderNodeVectorMath")
    dot.operation = "DOT_PRODUCT"
    n.link(d, dot.inputs[0])
    dot.inputs[1].default_value = sun
    toward = n.math("MAXIMUM", n.math("ADD", n.math("MULTIPLY", dot.outputs["Value"], 0.5), 0.5), 0.0)
    glow = n.math("MULTIPLY", n.math("POWER", toward, 4.0), 0.45)
    warm = n.mix(glow, c, (1.35, 1.12, 0.74))
    # behind the camera lie the club house and trees: darker, so that forms get a shadow side
    back = n.math("MULTIPLY", n.math("SUBTRACT", 0.12, sep.outputs[1]), 2.2)
    b = n.t.nodes.new("ShaderNodeMath")
    b.operation, b.use_clamp = "ADD", True
    n.link(back, b.inputs[0])
    right = n.math("MULTIPLY", n.math("MAXIMUM", sep.outputs[0], 0.0), 0.9)
    n.link(right, b.inputs[1])
    behind = n.t.nodes.new("ShaderNodeMath")
    behind.operation, behind.use_clamp = "MULTIPLY", True
    n.link(n.math("MULTIPLY", n.math("MAXIMUM", n.math("SUBTRACT", 0.10, sep.outputs[1]), 0.0), 3.0), behind.inputs[0])
    n.link(n.math("SUBTRACT", 1.0, n.math("MULTIPLY", toward, 0.75)), behind.inputs[1])
    col = n.mix(behind.outputs[0], warm, lch(38, 6, 110))
    bg = n.new("ShaderNodeBackground", Color=col, Strength=SKY)
    o = n.t.nodes.new("ShaderNodeOutputWorld")
    n.link(bg.outputs[0], o.inputs["Surface"])
    w.cycles.sampling_method = "MANUAL"
    w.cycles.sample_map_resolution = 512


# ---------------------------------------------------------------- the picture

SKY = 1.0
POLE_TILT = math.radians(1.2)
CUFF = 0.475  # from the middle of the shirt to the end of a sleeve
HOOP = (0.345, 0.05)  # middle and width of the white hoop, from the shoulder line


def build(args):
    bpy.ops.wm.read_factory_settings(use_empty=True)
    m = {}
    red = lch(50, 89, 32.5)
    white = lch(95, 2, 95)
    m["shirt"] = cloth_material("shirt", red, lch(91, 4, 92))
    m["rib"] = cloth_material("rib", lch(91, 4, 92))
    m["tar"] = tar("tar")
    m["brass"] = brass("brass")
    m["copper"] = plain("copper", lch(60, 40, 55), 0.3, 0.5, 1.0)
    m["varnish"] = wood("varnish", lch(52, 46, 62), lch(28, 34, 52), (1, 1, 1), 0.28, 0.8, 0.2)
    m["shaft"] = wood("shaft", lch(74, 34, 76), lch(60, 36, 68), (1, 1, 1), 0.35, 0.5, 0.15)
    m["plank"] = wood("plank", lch(60, 9, 78), lch(30, 10, 68), (1, 1, 1), 0.75, 0, 1.0)
    m["post"] = wood("post", lch(50, 10, 74), lch(24, 9, 66), (8, 1, 0.06), 0.75, 0, 0.8)
    m["sail"] = sailcloth("sail", lch(96.5, 2.0, 95))
    m["rope"] = plain("rope", lch(74, 20, 82), 0.85, 0.1)
    m["whitepaint"] = paint("whitepaint", white, 0.4, 0.4, 0.05)
    m["redpaint"] = paint("redpaint", lch(40, 76, 34), 0.4, 0.4)
    m["navy"] = paint("navy", lch(20, 30, 285), 0.4, 0.4)
    m["teal"] = paint("teal", lch(46, 40, 200), 0.4, 0.4)
    m["yellow"] = paint("yellow", lch(80, 88, 84), 0.4, 0.4)
    m["orange"] = paint("orange", lch(62, 98, 55), 0.45, 0.3)
    m["straw"] = paint("straw", lch(84, 30, 86), 0.6, 0.1, 0.25)
    m["ink"] = plain("ink", lch(7, 2, 60), 0.2, 0.5)
    m["lip"] = plain("lip", lch(32, 32, 30), 0.5)
    m["hair"] = [paint("hair0", lch(30, 28, 60), 0.4, 0.4, 0.3), paint("hair1", lch(12, 5, 50), 0.4, 0.4, 0.3),
                 paint("hair2", lch(64, 46, 78), 0.4, 0.4, 0.3), paint("hair3", lch(9, 2, 50), 0.4, 0.4, 0.3)]
    m["skins"] = [paint("light", lch(64.5, 15.5, 55), 0.42, 0.35, 0.06), paint("brown", lch(46, 19, 56), 0.40, 0.35, 0.08),
                  paint("dark", lch(28, 14.5, 51), 0.38, 0.4, 0.10), paint("tan", lch(61, 27, 59), 0.40, 0.35, 0.07)]
    m["hullpaint"] = [m["whitepaint"], m["teal"], m["redpaint"], m["navy"]]
    m["leaf"] = leaf_material("leaf", lch(42, 50, 133), lch(62, 42, 118), lch(62, 76, 121))
    m["bankleaf"] = leaf_material("bankleaf", lch(41, 53, 134), lch(60, 42, 121), lch(58, 74, 125), 0.38)
    m["reed"] = leaf_material("reed", lch(48, 46, 122), lch(58, 44, 112), lch(66, 66, 110), 0.45)
    m["stalk"] = plain("stalk", lch(44, 38, 118), 0.6)
    m["cattail"] = plain("cattail", lch(26, 20, 58), 0.9, 0.05)
    m["bark"] = plain("bark", lch(26, 8, 60), 0.9, 0.1)
    m["hill1"] = haze("hill1", lch(46, 34, 125), 0.50, lch(68, 8, 200))
    m["hill2"] = haze("hill2", lch(46, 26, 140), 0.82, lch(77, 8, 245))

    sun = Vector((-0.77, -0.57, 0.33)).normalized()
    sky(sun)
    lamp = bpy.data.lights.new("sun", "SUN")
    lamp.energy = 4.5
    lamp.angle = math.radians(1.2)
    lamp.color = (1.0, 0.92, 0.80)
    lo = bpy.data.objects.new("sun", lamp)
    lo.rotation_euler = (-sun).to_track_quat("-Z", "Y").to_euler()
    bpy.context.collection.objects.link(lo)

    water(water_material())
    hills(m)

    # left: reeds, jetty, the shirt on its oar
    reeds(m["reed"], m["stalk"], m["cattail"], m["cattail"])
    jetty(m)
    cx, cy, pz = -0.47, 3.30, 1.40
    post(cx - 0.57, cy, pz - 0.052 + 0.56 * math.tan(POLE_TILT), m)
    post(cx + 0.55, cy, pz - 0.052 - 0.56 * math.tan(POLE_TILT), m)
    ends = [Vector((cx + s, cy, pz - s * math.tan(POLE_TILT))) for s in (-1.6, 1.03)]
    tube("oar", [ends[0].lerp(ends[1], f) for f in (0, .3, .6, .90)], 0.022, m["shaft"], 24)
    tube("grip", [ends[0].lerp(ends[1], f) for f in (.90, .905, .95, .995, 1)], lambda t: 0.019 if t < 1 else .015, m["navy"], 24)
    shirt(m["shirt"], m["rib"], (cx, cy), pz, args.cloth)
    branch(m["leaf"], m["bark"])
    bank_leaves(m["bankleaf"], m["stalk"])
    rope_coil((-0.10, 2.95, 0.318), m)

    # the starter's bell hangs from the oar's handle
    bx = cx + 0.905
    by = pz - 0.905 * math.tan(POLE_TILT)
    for k in (-1, 0, 1):
        turn = [(bx + 0.007 * k + 0.002 * math.sin(a), cy + 0.0245 * math.cos(a), by + 0.0245 * math.sin(a)) for a in [TAU * i / 20 for i in range(21)]]
        tube("lashing", turn, 0.0042, m["rope"], 8, caps=False)
    tube("hanger", [(bx, cy, by - 0.022), (bx, cy, by - 0.05)], 0.0045, m["rope"], 8)
    bell((bx, cy, by - 0.225), m)

    # the gig and its crew
    hx, hy, hyaw = 2.20, 4.62, -5
    hull(m, (hx, hy, 0), hyaw)

    def aboard(t):
        a = math.radians(hyaw)
        return (hx + t * 2.7 * math.cos(a), hy + t * 2.7 * math.sin(a) - 0.02, 0.36)

    crew = ((-0.695, 8, m["skins"][0], m["whitepaint"], m["redpaint"], m["hair"][0], None, None, 3),
            (-0.495, -10, m["skins"][2], m["redpaint"], m["whitepaint"], m["hair"][3], "boater", None, -4),
            (-0.293, -20, m["skins"][1], m["whitepaint"], m["redpaint"], m["hair"][1], None, (0.22, -0.26), 2))
    for k, (t, yaw, skin, dress, trim, top, hat, grip, tilt) in enumerate(crew):
        p = aboard(t)
        figure(p, yaw, skin, dress, trim, top, hat, grip, m, tilt)
        if not grip:
            continue
        a = math.radians(yaw)
        gx = p[0] + grip[0] * math.cos(a) - grip[1] * math.sin(a)
        gy = p[1] + grip[0] * math.sin(a) + grip[1] * math.cos(a)
        lean = (-0.06, 0, -0.09, 0.06)[k]
        oar((gx - lean * 0.25, gy, p[2] + 0.08), (gx + lean * 1.5, gy + 0.02, p[2] + 1.62), 20 + 35 * k, m["shaft"],
            (m["whitepaint"], m["navy"], m["redpaint"]), m["bark"])

    # sails and buoys
    sail_boat((3.0, 21, 0.02), -34, 4.9, m, 5, True, 0)
    sail_boat((-0.3, 30, 0.02), -28, 4.6, m, 6, True, 1)
    sail_boat((-5.4, 46, 0.02), -38, 5.0, m, 5, True, 2)
    sail_boat((19.5, 62, 0.02), -30, 5.0, m, 5, True, 3)
    sail_boat((4.0, 85, 0.02), -36, 5.2, m, 4, True, 1)
    for x, y, mat in ((0.42, 11.5, m["orange"]), (3.0, 16, m["yellow"])):
        place(ball("buoy", 0.17, mat), (x, y, 0.09), scale=(1, 1, 1.15))
    pennants((0.0, 6.2, 2.42), (3.3, 7.4, 2.72), 0.30, [m["redpaint"], m["whitepaint"], m["navy"], m["yellow"], m["teal"]], 11, 0.24, m)

    # camera
    cam = bpy.data.cameras.new("camera")
    cam.lens, cam.sensor_width = 50, 36
    cam.shift_y = 0.0
    cam.dof.use_dof = True
    cam.dof.focus_distance = 3.6
    cam.dof.aperture_fstop = 6.3
    cam.dof.aperture_blades = 9
    co = bpy.data.objects.new("camera", cam)
    co.location = (0, 0, 1.03)
    co.rotation_euler = (math.radians(90 - 0.4), 0, 0)
    bpy.context.collection.objects.link(co)
    sc = bpy.context.scene
    sc.camera = co
    return sc


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("-out", required=True)
    ap.add_argument("-seed", type=int, default=1)
    ap.add_argument("-samples", type=int, default=16)
    ap.add_argument("-width", type=int, default=480)
    ap.add_argument("-cloth", default="", help="file that keeps the settled shirt between runs")
    ap.add_argument("-crop", default="", help="x0,y0,x1,y1 of 0..1 from the lower left")
    args = ap.parse_args(sys.argv[sys.argv.index("--") + 1:])

    sc = build(args)
    sc.render.engine = "CYCLES"
    c = sc.cycles
    c.device = "CPU"
    c.samples = args.samples
    c.seed = args.seed
    c.use_adaptive_sampling, c.adaptive_threshold, c.adaptive_min_samples = True, 0.04, 4
    c.use_denoising = False
    c.max_bounces, c.diffuse_bounces, c.glossy_bounces = 5, 3, 3
    c.transmission_bounces, c.transparent_max_bounces = 3, 4
    c.sample_clamp_indirect = 2.0
    c.sample_clamp_direct = 5.0
    c.blur_glossy = 0.6
    c.caustics_reflective = c.caustics_refractive = False
    c.pixel_filter_type = "BLACKMAN_HARRIS"
    c.filter_width = 1.35
    sc.render.threads_mode, sc.render.threads = "FIXED", 1
    sc.render.resolution_x, sc.render.resolution_y = args.width, args.width * 2 // 3
    sc.render.resolution_percentage = 100
    sc.render.use_persistent_data = False
    if args.crop:
        x0, y0, x1, y1 = (float(v) for v in args.crop.split(","))
        sc.render.use_border = True
        sc.render.use_crop_to_border = True
        sc.render.border_min_x, sc.render.border_min_y, sc.render.border_max_x, sc.render.border_max_y = x0, y0, x1, y1
    vl = bpy.context.view_layer
    vl.use_pass_normal = True
    vl.use_pass_diffuse_color = True
    s = sc.render.image_settings
    s.file_format = "OPEN_EXR_MULTILAYER"
    s.color_depth, s.exr_codec = "16", "ZIP"
    sc.render.filepath = os.path.abspath(args.out)
    bpy.ops.render.render(write_still=True)


main()
