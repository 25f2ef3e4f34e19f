package grade

// A Grade is a letter of ISO/IEC 15415. The zero Grade is none given.
type Grade uint8

// The grades, the worst first, so that they compare as numbers.
const (
	None Grade = iota
	F
	D
	C
	B
	A
)

// letters are the grades' spellings.
const letters = "–FDCBA"

// String is the letter, a dash for none.
func (g Grade) String() string {
	switch {
	case g == None || g > A:
		return "–"
	default:
		return string([]rune(letters)[g])
	}
}

// Number is the grade as the standard counts it, 4 for A to 0 for F, and -1 for
// none.
func (g Grade) Number() int {
	if g > A {
		return -1
	}
	return int(g) - 1
}

// A scale holds the limits of A, B, C and D. Up tells whether more is better.
type scale struct {
	limits [4]float64
	up     bool
}

// of grades a figure; what is no number fails.
func (s scale) of(v float64) Grade {
	for i, limit := range s.limits {
		if s.up && v >= limit || !s.up && v <= limit {
			return A - Grade(i)
		}
	}
	return F
}
