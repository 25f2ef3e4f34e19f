package lift

import (
	"math"
	"math/big"
)

// Where equality itself refuses, floating point must not let it pass. The
// comparisons here are of figures that are rational in the coordinates; they are
// made in floating point where the two sides are well apart and exactly where
// they are not.

// apart is how far from each other, relative to the size of their terms, two
// sums of a few products must be for floating point to tell which is larger.
const apart = 1e-12

// above tells whether the foot of the centre of gravity on the line of two picks
// is above the centre of gravity, so that the load hangs below the line.
func above(pick, along, cg vec) bool {
	g := cg.minus(pick)
	left, right := along.z*g.dot(along), g.z*along.dot(along)
	terms := math.Abs(along.z)*(math.Abs(g.x*along.x)+math.Abs(g.y*along.y)+math.Abs(g.z*along.z)) + math.Abs(right)
	if math.Abs(left-right) > apart*terms {
		return left > right
	}
	a, b := exact(along), exact(g)
	return mul(a[2], dot(b, a)).Cmp(mul(b[2], dot(a, a))) > 0
}

// outside tells whether a reach is longer than the radius of the circle through
// three picks, of which a and b are the second and third as seen from the first.
func outside(reach float64, a, b vec, radius float64) bool {
	if math.Abs(reach-radius) > 1e-9*radius {
		return reach > radius
	}
	// R² = |a|² |b|² |a−b|² / (4 |a×b|²)
	l := new(big.Rat).SetFloat64(reach)
	cross := exact(a.cross(b))
	side := exact(a.minus(b))
	left := mul(mul(l, l), mul(big.NewRat(4, 1), dot(cross, cross)))
	right := mul(dot(exact(a), exact(a)), mul(dot(exact(b), exact(b)), dot(side, side)))
	return left.Cmp(right) > 0
}

func exact(v vec) [3]*big.Rat {
	return [3]*big.Rat{new(big.Rat).SetFloat64(v.x), new(big.Rat).SetFloat64(v.y), new(big.Rat).SetFloat64(v.z)}
}

func dot(a, b [3]*big.Rat) *big.Rat {
	sum := mul(a[0], b[0])
	sum.Add(sum, mul(a[1], b[1]))
	return sum.Add(sum, mul(a[2], b[2]))
}

func mul(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }
