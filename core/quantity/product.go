package quantity

import (
	"math"
	"math/bits"
)

// Ratio is an exact fraction that is not below zero: Ratio{17320, 10000} is the
// factor 1.7320. The zero Ratio is no fraction, and a Product with it is not known.
type Ratio struct{ Num, Den int64 }

// Percent is n hundredths.
func Percent(n int64) Ratio { return Ratio{n, 100} }

// Inverse turns the fraction over.
func (r Ratio) Inverse() Ratio { return Ratio{r.Den, r.Num} }

// Known tells whether it is a fraction of zero or more.
func (r Ratio) Known() bool { return r.Num >= 0 && r.Den > 0 }

// Cmp compares exactly: -1, 0 or 1. ok is false where one of them is not known.
func (r Ratio) Cmp(o Ratio) (order int, ok bool) {
	if !r.Known() || !o.Known() {
		return 0, false
	}
	ah, al := bits.Mul64(uint64(r.Num), uint64(o.Den))
	bh, bl := bits.Mul64(uint64(o.Num), uint64(r.Den))
	return cmp3([3]uint64{0, ah, al}, [3]uint64{0, bh, bl}), true
}

// Product is a mass times exact fractions, kept unrounded. The zero Product is
// not known: it is not the mass zero, has no order with any other, and prints
// as 0. A product becomes unknown for good where a mass is
// below zero, a ratio is none, or the result would pass 2^63 of Mass's units or
// need more than 64 bits for its reduced fraction; with masses up to MaxMass and
// the factors of this trade neither can happen.
//
// Products are compared by their methods only, since 2 × 1/2 is 1; == does not compile.
type Product struct {
	_        [0]func()
	mass     uint64
	num, den uint64 // value mass × num/den; den is 0 where it is not known
}

// Exact is the mass as a Product.
func (m Mass) Exact() Product {
	if m < 0 {
		return Product{}
	}
	return Product{mass: uint64(m), num: 1, den: 1}
}

// Times is the mass times a ratio, unrounded.
func (m Mass) Times(r Ratio) Product { return m.Exact().Times(r) }

// Known tells whether the product has a value.
func (p Product) Known() bool { return p.den != 0 }

// Times is the product times a ratio, unrounded.
func (p Product) Times(r Ratio) Product {
	if !p.Known() || !r.Known() {
		return Product{}
	}
	a, b := uint64(r.Num), uint64(r.Den)
	num, ok1 := mul(p.num, a)
	den, ok2 := mul(p.den, b)
	if !ok1 || !ok2 {
		p.num, p.den = reduce(p.num, p.den)
		a, b = reduce(a, b)
		p.num, b = reduce(p.num, b)
		a, p.den = reduce(a, p.den)
		num, ok1 = mul(p.num, a)
		den, ok2 = mul(p.den, b)
	}
	p.num, p.den = num, den
	if !ok1 || !ok2 || p.units() > math.MaxInt64 {
		return Product{}
	}
	return p
}

// units is the value in Mass's units, rounded down; above MaxInt64 where it would not fit.
func (p Product) units() uint64 {
	hi, lo := bits.Mul64(p.mass, p.num)
	if hi >= p.den {
		return math.MaxUint64
	}
	q, _ := bits.Div64(hi, lo, p.den)
	return q
}

// More tells whether p is more than q. Where either is not known it is true: a
// load that may be more than what is allowed counts as more.
func (p Product) More(q Product) bool {
	order, ok := p.Cmp(q)
	return !ok || order > 0
}

// Cmp compares exactly: -1, 0 or 1. ok is false where one of them is not known.
func (p Product) Cmp(q Product) (order int, ok bool) {
	if !p.Known() || !q.Known() {
		return 0, false
	}
	return cmp3(mul3(p.mass, p.num, q.den), mul3(q.mass, q.num, p.den)), true
}

// Least is the smallest of several products; not known as soon as one is not.
func Least(p Product, more ...Product) Product {
	for _, q := range more {
		order, ok := p.Cmp(q)
		if !ok {
			return Product{}
		}
		if order > 0 {
			p = q
		}
	}
	return p
}

// Grams is the product in whole grams, the nearest, halves up; 0 where it is not known.
func (p Product) Grams() int64 {
	if !p.Known() {
		return 0
	}
	// The part of a unit that units leaves off is less than one and half a
	// gram is a whole number of units, so it cannot decide.
	const half = uint64(Gram) / 2
	return int64((p.units() + half) / uint64(Gram))
}

// Floor is the product as a Mass, rounded down by less than 10 µg; 0 where it is
// not known. For print and for geometry, never for a comparison that decides.
func (p Product) Floor() Mass {
	if !p.Known() {
		return 0
	}
	return Mass(p.units())
}

// Float is the product in Mass's units as a floating-point number, for geometry;
// 0 where it is not known.
func (p Product) Float() float64 {
	if !p.Known() {
		return 0
	}
	return float64(p.mass) * float64(p.num) / float64(p.den)
}

func mul(a, b uint64) (product uint64, ok bool) {
	hi, lo := bits.Mul64(a, b)
	return lo, hi == 0
}

// reduce takes the common divisor out of a and b; b is not zero.
func reduce(a, b uint64) (uint64, uint64) {
	x, y := a, b
	for x != 0 {
		x, y = y%x, x
	}
	return a / y, b / y
}

// mul3 is a × b × c in 192 bits, most significant word first.
func mul3(a, b, c uint64) [3]uint64 {
	hi, lo := bits.Mul64(a, b)
	midHi, low := bits.Mul64(lo, c)
	topHi, topLo := bits.Mul64(hi, c)
	mid, carry := bits.Add64(midHi, topLo, 0)
	return [3]uint64{topHi + carry, mid, low}
}

func cmp3(a, b [3]uint64) int {
	for i := range a {
		switch {
		case a[i] < b[i]:
			return -1
		case a[i] > b[i]:
			return 1
		}
	}
	return 0
}
