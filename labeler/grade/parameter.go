package grade

import "fmt"

// A Parameter is one thing that is measured on a print. The zero value is none.
type Parameter uint8

// The parameters, in the order of a report. Contrast and Growth are information
// and have no grade.
const (
	Decode Parameter = iota + 1
	UnusedCorrection
	Modulation
	FixedPattern
	FormatBits
	QuietZone
	AxialNonUniformity
	GridNonUniformity
	Contrast
	Growth
	lastParameter
)

// Where the limits come from.
const (
	manual = "ISO/IEC 15415, through a verifier manual"
	memory = "from memory, not seen"
	custom = "common practice, no source"
)

type row struct {
	name, key string
	graded    bool
	scale     scale
	limits    string // in words
	source    string
}

// rows holds what is known of each parameter. The limits beside a scale are the
// same figures in words; a test holds them together.
var rows = [lastParameter]row{
	Decode: {"read", "decode", true, scale{}, "A read, F not", "ISO/IEC 15415, " + memory},
	UnusedCorrection: {"unused error correction", "unused_correction", true, scale{[4]float64{0.62, 0.50, 0.37, 0.25}, true},
		"A from 0.62, B from 0.50, C from 0.37, D from 0.25", manual + "; 1 − 2 × errors / correction words of the worst block, " + memory},
	Modulation: {"modulation", "modulation", true, scale{[4]float64{0.50, 0.40, 0.30, 0.20}, true},
		"A from 0.50, B from 0.40, C from 0.30, D from 0.20", manual + "; a module on the wrong side has none; codewords under a limit count as errors, " + memory},
	FixedPattern: {"fixed patterns", "fixed_pattern", true, scale{},
		"finder 0, 1, 2, 3 wrong modules; timing 0, 7, 11, 14 %; alignment none", "ISO/IEC 18004, annex on quality, " + memory},
	FormatBits: {"format bits", "format", true, scale{[4]float64{0, 1, 2, 3}, false},
		"A 0, B 1, C 2, D 3 wrong bits in the worse copy", "ISO/IEC 18004, annex on quality, " + memory},
	QuietZone: {"clear margin", "quiet_zone", true, scale{[4]float64{0, 0, 0, 0}, false},
		"A clear, F not: four modules on every side", "ISO/IEC 18004, " + memory + "; pass or fail is " + custom},
	AxialNonUniformity: {"axial non-uniformity", "axial", true, scale{[4]float64{0.06, 0.08, 0.10, 0.12}, false},
		"A to 0.06, B to 0.08, C to 0.10, D to 0.12", "ISO/IEC 15415, " + memory},
	GridNonUniformity: {"grid non-uniformity", "grid", true, scale{[4]float64{0.38, 0.50, 0.63, 0.75}, false},
		"A to 0.38, B to 0.50, C to 0.63, D to 0.75", "ISO/IEC 15415, " + memory},
	Contrast: {"contrast in this picture", "contrast", false, scale{}, "not graded: the camera is not calibrated", custom},
	Growth:   {"print growth", "growth", false, scale{}, "not graded", "ISO/IEC 15415 leaves it to the user, " + memory},
}

func (p Parameter) row() row {
	if p >= lastParameter {
		p = 0
	}
	return rows[p]
}

// Parameters lists all of them, in the order of a report.
func Parameters() []Parameter {
	all := make([]Parameter, 0, lastParameter-1)
	for p := Decode; p < lastParameter; p++ {
		all = append(all, p)
	}
	return all
}

// String names the parameter for people.
func (p Parameter) String() string { return p.row().name }

// Key is its stable spelling for machines.
func (p Parameter) Key() string { return p.row().key }

// Graded tells whether it has a grade, or is information.
func (p Parameter) Graded() bool { return p.row().graded }

// Limits gives the limits of its grades in words.
func (p Parameter) Limits() string { return p.row().limits }

// Source says where the limits come from, and how sure that is.
func (p Parameter) Source() string { return p.row().source }

// A Line is one parameter of a report.
type Line struct {
	Parameter Parameter
	Grade     Grade   // None for information, and where it cannot be given
	Value     float64 // what the grade goes by; NaN where it cannot be given
	Measured  string  // the value and what it is made of, for people
	Missing   string  // why it cannot be given; empty where it is
}

// An Absent is a parameter of the standard that no picture of a camera that has
// not been calibrated can give.
type Absent struct{ Name, Why string }

// CannotGive lists what no report of this package grades.
func CannotGive() []Absent {
	return []Absent{
		{"symbol contrast", "the camera and its light are not calibrated against known black and white, so how dark the dark really is cannot be told"},
		{"reflectance", "for the same reason all figures are relative to this picture's own light and dark"},
		{"aperture and light at 45°", "the picture was taken by whatever light there was, through a lens of unknown quality"},
		{"size of a module", fmt.Sprintf("a picture has no scale; a ruler or a card with a %d mm line tells the size", 100)},
	}
}
