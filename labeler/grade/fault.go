package grade

// A Fault is why a picture allows no verdict on the print in it. The zero value is
// none.
type Fault uint8

// The faults. Their bounds are common practice, no source; a test stands on both
// sides of each.
const (
	AnotherTag     Fault = iota + 1 // the text is not the one that was meant
	AnotherDrawing                  // the text is, and the symbol is not drawn as the labeller draws it
	CutOff                          // a part of the symbol or its margin lies outside the picture
	TooSmall                        // fewer than minPixels pixels a module
	Askew                           // seen so far from the side that modules cannot be compared
	Blurred                         // edges are wider than maxRise of a module
	Glare                           // a patch is dazzled
	UnevenLight                     // one side is lit less than half as much as another
	Faint                           // light and dark are too near each other to tell apart
	lastFault
)

const (
	minPixels     = 4.0  // a module, along its shorter side
	maxKeystone   = 0.15 // difference of two opposite sides over their mean
	maxSkew       = 15.0 // degrees that the sides are off a right angle
	maxRise       = 0.40 // modules in which an edge goes from a fifth to four fifths
	minEvenness   = 0.5  // light at the darkest corner over that at the lightest
	minDifference = 0.10 // of dark from light, as a share of light
)

var faults = [lastFault]struct{ key, sentence, next string }{
	AnotherTag:     {"another-tag", "This is another tag than the one that was printed.", "Take a picture of the new tag alone."},
	AnotherDrawing: {"another-drawing", "The symbol says what the tag says, but it is not the one that was printed.", "Take a picture of the tag that the labeller printed."},
	CutOff:         {"cut-off", "The symbol or its clear margin is not wholly in the picture.", "Move back until there is light around the whole symbol."},
	TooSmall:       {"too-small", "The symbol has too few pixels: at least 4 for each of its modules are needed.", "Move closer, or crop less."},
	Askew:          {"askew", "The symbol is seen too far from the side.", "Hold the camera square on to the tag."},
	Blurred:        {"blurred", "The picture is blurred.", "Hold still, clean the lens, and let the camera focus on the tag."},
	Glare:          {"glare", "A part of the symbol is dazzled by a lamp or the sun.", "Turn the tag or the lamp until nothing shines back."},
	UnevenLight:    {"uneven-light", "One side of the symbol is in shadow.", "Move out of your own shadow, or light the tag from all sides."},
	Faint:          {"faint", "Light and dark are hardly told apart in this picture.", "Take the picture in better light; if it stays so, the print is too pale: more heat, or slower."},
}

func (f Fault) known() bool { return f > 0 && f < lastFault }

// Key is the fault's stable spelling for machines, "none" for the zero value.
func (f Fault) Key() string {
	if !f.known() {
		return "none"
	}
	return faults[f].key
}

// Sentence says the fault to a person.
func (f Fault) Sentence() string {
	if !f.known() {
		return "Nothing is wrong with this picture."
	}
	return faults[f].sentence
}

// Next says what to do about it.
func (f Fault) Next() string {
	if !f.known() {
		return "Nothing needs to be done."
	}
	return faults[f].next
}
