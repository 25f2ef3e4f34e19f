package lift

import (
	"math"

	"cribgate/core/quantity"
)

// vec is a point or direction in millimetres.
type vec struct{ x, y, z float64 }

func (a vec) plus(b vec) vec     { return vec{a.x + b.x, a.y + b.y, a.z + b.z} }
func (a vec) minus(b vec) vec    { return vec{a.x - b.x, a.y - b.y, a.z - b.z} }
func (a vec) by(f float64) vec   { return vec{a.x * f, a.y * f, a.z * f} }
func (a vec) dot(b vec) float64  { return a.x*b.x + a.y*b.y + a.z*b.z }
func (a vec) length() float64    { return math.Sqrt(a.dot(a)) }
func (a vec) unit() vec          { return a.by(1 / a.length()) }
func (a vec) plan() vec          { return vec{a.x, a.y, 0} }
func (a vec) turn(b vec) float64 { return a.x*b.y - a.y*b.x } // in plan, positive to the left
func (a vec) degrees(b vec) float64 {
	return math.Atan2(a.cross(b).length(), a.dot(b)) * 180 / math.Pi
}

func (a vec) cross(b vec) vec {
	return vec{a.y*b.z - a.z*b.y, a.z*b.x - a.x*b.z, a.x*b.y - a.y*b.x}
}

func (p Point) vec() vec { return vec{mm(p.X), mm(p.Y), mm(p.Z)} }

func mm(l quantity.Length) float64 { return float64(l) / float64(quantity.Millimetre) }
