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
	return [Severities + 1]float64{0, 0.1, 0.26, 0.48, 0.74, 1}[severity]
}

// A harm is how much of each thing is done to a scene, 0 nothing and 1 the worst.
type harm struct {
	of               [kinds]float64
	scuff            float64 // everyday wear
	tilt, far, focus float64
}

// worst is how far a kind goes at severity 5, so that nearly all of what it does to a
// symbol could still be mended by whoever finds its modules (measured so, see
// [Scene.Possible]; beyond that, paint and water leave nothing to read).
func worst(k Kind) float64 {
	switch k {
	case Paint:
		return 0.48
	case Wet:
		return 0.52
	case Motion:
		return 0.56
	case Thumb, Dark:
		return 0.84
	case Bent, Shutter, Rust, Torn:
		return 0.76
	}
	return 0.8
}

// harmOf is what a kind at a severity does. Whatever the kind is, a worse scene lies
// a little farther away, more askew and less sharp, and the tag has some everyday
// wear.
func harmOf(k Kind, severity int, r *rand.Rand) harm {
	a := amount(severity)
	h := harm{scuff: 0.2 * a, tilt: 0.8 * a, far: 0.8 * a, focus: 0.4 * a}
	switch k {
	case Second, Print:
		h.scuff, h.focus = a, 0.85*a
		h.of[k] = worst(k) * a
	case Mixed:
		for _, i := range r.Perm(int(Second))[:3] {
			h.of[i] = 0.62 * worst(Kind(i)) * a
		}
	case Quarter:
		h.of[k] = 1
	default:
		h.of[k] = worst(k) * a
	}
	return h
}
