package worn

import "math/rand/v2"

// A Kind is what is wrong with a tag or with how it is seen. The zero Kind is
// Paint.
type Kind uint8

// The kinds.
const (
	Paint   Kind = iota // spatter
	Torn                // a corner is off
	Rust                // streaks and pits
	Bent                // bowed both ways, twisted, creased
	Motion              // moved while the shutter was open
	Shutter             // moved while the rows were read
	Dark                // little light, much noise
	Wet                 // drops, and the lamp in a film of water
	Thumb               // over a corner
	Second              // another tag in view; everyday wear
	Print               // printed matter behind; everyday wear
	Mixed               // three of the others at once
	None                // no tag at all
	Quarter             // a quarter of the symbol is hidden; everyday wear
	kinds
)

// Names are what the kinds are called, in their order.
var names = [kinds]string{"paint", "torn corner", "rust", "bent", "motion", "rolling shutter", "low light", "wet",
	"thumb", "second tag", "print behind", "mixed", "no tag", "quarter hidden"}

// String names the kind.
func (k Kind) String() string {
	if k >= kinds {
		return "no such kind"
	}
	return names[k]
}

// Kinds are all the kinds, in their order.
func Kinds() []Kind {
	var all []Kind
	for k := range kinds {
		all = append(all, k)
	}
	return all
}

// Severities is how many severities there are, from 1 on.
const Severities = 5

// amount is how much damage a severity is, 0 none and 1 the worst that is made.
func amount(severity int) float64 {
	return [Severities + 1]float64{0, 0.1, 0.25, 0.45, 0.7, 1}[severity]
}

// A harm is how much of each thing is done to a scene, 0 nothing and 1 the worst.
type harm struct {
	of               [kinds]float64
	scuff            float64 // everyday wear
	tilt, far, focus float64
}

// harmOf is what a kind at a severity does. Whatever the kind is, a worse scene lies
// a little farther away, more askew and less sharp, and the tag has some everyday
// wear.
func harmOf(k Kind, severity int, r *rand.Rand) harm {
	a := amount(severity)
	h := harm{scuff: 0.25 * a, tilt: a, far: a, focus: 0.5 * a}
	switch k {
	case Second, Print:
		h.scuff, h.focus = 1.1*a, a
		h.of[k] = a
	case Mixed:
		for _, i := range r.Perm(int(Second))[:3] {
			h.of[i] = 0.65 * a
		}
	case Quarter:
		h.of[k] = 1
	default:
		h.of[k] = a
	}
	return h
}
