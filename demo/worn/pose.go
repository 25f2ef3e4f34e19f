package worn

import (
	"math"
	"math/rand/v2"

	"cribgate/labeler/symbol"
)

// The frame that a camera at a counter gives.
const (
	Width  = 1280
	Height = 720
	// focal is the distance of the sensor behind the lens in pixels: 60° of view
	// across (common practice, no source).
	focal = 1108.5
)

// half is half a symbol's side in modules.
const half = symbol.Modules / 2.0

// A bend is how the plate deviates from flat, in modules toward the camera: bowed
// along both sides, twisted, and creased along a line.
type bend struct {
	across, down, twist  float64 // rise at the symbol's edge, in halves of its side
	creaseX, creaseY     float64 // direction square to the crease
	creaseAt, creaseRise float64 // where it lies in modules; rise for each module beyond it
}

// flatBeyond is where the bow goes on straight, in halves of a symbol's side.
const flatBeyond = 1.5

// bow is the height of a bow and its slope.
func bow(k, x float64) (z, slope float64) {
	s := x / half
	if s > flatBeyond || s < -flatBeyond {
		edge := math.Copysign(flatBeyond, s)
		return half * k * (2*edge*s - edge*edge), 2 * k * edge
	}
	return half * k * s * s, 2 * k * s
}

func (b bend) height(x, y float64) (z, dx, dy float64) {
	zx, sx := bow(b.across, x)
	zy, sy := bow(b.down, y)
	z, dx, dy = zx+zy+b.twist*x*y/half, sx+b.twist*y/half, sy+b.twist*x/half
	if beyond := x*b.creaseX + y*b.creaseY - b.creaseAt; beyond > 0 {
		z += b.creaseRise * beyond
		dx += b.creaseRise * b.creaseX
		dy += b.creaseRise * b.creaseY
	}
	return z, dx, dy
}

// along is how far a place at x lies from the middle along the metal, which a bend
// does not stretch.
func along(k, x float64) float64 {
	s := min(max(x/half, -flatBeyond), flatBeyond)
	return x + half*(2*k*k*s*s*s/3)*math.Abs(x/half/max(math.Abs(s), 1e-9))
}

// A pose is where a plate is and which way it faces.
type pose struct {
	rot  [3][3]float64 // from the plate to the camera
	at   [3]float64    // the symbol's middle before the camera, in modules
	bend bend
	lamp [3]float64 // toward the light, in the plate's own directions
	flat float64    // light on a plate that is not bent
}

// newPose holds the plate so that a module takes size pixels and the symbol's middle
// lies at (x, y) of the frame.
func newPose(roll, pitch, yaw, size, x, y float64) pose {
	var p pose
	sr, cr := math.Sincos(roll)
	sp, cp := math.Sincos(pitch)
	sy, cy := math.Sincos(yaw)
	// Turned in its plane first, then nodded, then turned sideways.
	p.rot = [3][3]float64{
		{cy*cr + sy*sp*sr, -cy*sr + sy*sp*cr, sy * cp},
		{cp * sr, cp * cr, -sp},
		{-sy*cr + cy*sp*sr, sy*sr + cy*sp*cr, cy * cp},
	}
	z := focal / size
	p.at = [3]float64{(x - Width/2) * z / focal, (y - Height/2) * z / focal, z}
	p.light([3]float64{-0.35, -0.5, -1})
	return p
}

// light sets the direction of the light, given in the camera's own directions.
func (p *pose) light(from [3]float64) {
	n := math.Sqrt(from[0]*from[0] + from[1]*from[1] + from[2]*from[2])
	for i := range 3 {
		p.lamp[i] = (p.rot[0][i]*from[0] + p.rot[1][i]*from[1] + p.rot[2][i]*from[2]) / n
	}
	p.flat = max(0.05, -p.lamp[2])
}

// plate takes a place in the frame to the plate, in modules from the symbol's middle,
// with how brightly it is lit there beside how a flat plate is.
func (p *pose) plate(px, py float64) (u, v, lit float64, ok bool) {
	ray := [3]float64{(px - Width/2) / focal, (py - Height/2) / focal, 1}
	var d, o [3]float64
	for i := range 3 {
		d[i] = p.rot[0][i]*ray[0] + p.rot[1][i]*ray[1] + p.rot[2][i]*ray[2]
		o[i] = -(p.rot[0][i]*p.at[0] + p.rot[1][i]*p.at[1] + p.rot[2][i]*p.at[2])
	}
	if d[2] < 0.05 {
		return 0, 0, 0, false // seen from behind, or along the plate
	}
	t := -o[2] / d[2]
	x, y := o[0]+t*d[0], o[1]+t*d[1]
	if p.bend == (bend{}) {
		return x, y, 1, true
	}
	var sx, sy float64
	for range 6 { // the ray meets the bent plate a little before or behind the flat one
		var z float64
		z, sx, sy = p.bend.height(x, y)
		t = (-z - o[2]) / d[2]
		x, y = o[0]+t*d[0], o[1]+t*d[1]
	}
	// Heights rise toward the camera, which looks along +z.
	n := math.Sqrt(1 + sx*sx + sy*sy)
	facing := (-p.lamp[2] - sx*p.lamp[0] - sy*p.lamp[1]) / n
	return along(p.bend.across, x), along(p.bend.down, y), 0.35 + 0.65*max(facing, 0)/p.flat, true
}

// frame takes a place on the flat plate to the frame.
func (p *pose) frame(u, v float64) (px, py float64) {
	z, _, _ := p.bend.height(u, v)
	var c [3]float64
	for i := range 3 {
		c[i] = p.rot[i][0]*u + p.rot[i][1]*v - p.rot[i][2]*z + p.at[i]
	}
	return c[0]*focal/c[2] + Width/2, c[1]*focal/c[2] + Height/2
}

// newBend draws a bend of an amount from 0 to 1: a bow each way, of one sign or of
// two, a twist, and from the middle on a crease.
func newBend(r *rand.Rand, amount float64) bend {
	sign := func() float64 { return float64(2*r.IntN(2) - 1) }
	b := bend{
		across: sign() * between(r, 0.5, 1) * 0.52 * amount,
		down:   sign() * between(r, 0.5, 1) * 0.52 * amount,
		twist:  sign() * between(r, 0.3, 1) * 0.3 * amount,
	}
	a := between(r, 0, 2*math.Pi)
	at, rise := between(r, -0.6, 0.9)*half, sign()*between(r, 0.4, 1)*0.9*(amount-0.4)
	if amount > 0.4 {
		b.creaseX, b.creaseY = math.Cos(a), math.Sin(a)
		b.creaseAt, b.creaseRise = at, rise
	}
	return b
}
