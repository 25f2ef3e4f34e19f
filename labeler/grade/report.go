package grade

import "slices"

// A Report is what a picture says of the print in it. The zero Report has no lines
// and does not confirm.
type Report struct {
	Lines  []Line   // each parameter that was measured, once, in the order of Parameters; none where there are Faults
	Faults []Fault  // what is wrong with the picture: then nothing was graded
	Advice []Advice // what to change, the weightiest first
}

// Graded tells whether the picture allows a verdict on the print.
func (r Report) Graded() bool { return len(r.Lines) > 0 && len(r.Faults) == 0 }

// Overall is the lowest grade of all lines (ISO/IEC 15415, through a verifier
// manual), None where the picture allows none. Where [Report.Whole] does not hold
// it is the best that the print can still get.
func (r Report) Overall() Grade {
	if !r.Graded() {
		return None
	}
	lowest := A
	for _, l := range r.Lines {
		if l.Parameter.Graded() && l.Missing == "" {
			lowest = min(lowest, l.Grade)
		}
	}
	return lowest
}

// Whole tells whether every parameter that a camera can give was given.
func (r Report) Whole() bool {
	for _, p := range Parameters() {
		if l, ok := r.Line(p); p.Graded() && (!ok || l.Missing != "" || l.Grade == None) {
			return false
		}
	}
	return true
}

// Confirms tells whether the print may be confirmed: C or better (site policy, no
// source), from a picture that allowed every parameter to be given. It says nothing
// of whose tag it is or where it hangs.
func (r Report) Confirms() bool { return r.Graded() && r.Whole() && r.Overall() >= C }

// Line finds the line of a parameter.
func (r Report) Line(p Parameter) (Line, bool) {
	i := slices.IndexFunc(r.Lines, func(l Line) bool { return l.Parameter == p })
	if i < 0 {
		return Line{}, false
	}
	return r.Lines[i], true
}

// Sentence says the outcome to a person.
func (r Report) Sentence() string {
	switch overall := r.Overall(); {
	case !r.Graded():
		return "This picture allows no verdict on the print. Take another one."
	case !r.Whole() && overall >= C:
		return "No better than " + overall.String() + ", and not all could be measured. Take another picture, square on."
	case r.Confirms():
		return "Grade " + overall.String() + ": the print is good enough."
	default:
		return "Grade " + overall.String() + ": the print is not good enough. Change what is said below, and print the tag anew."
	}
}
