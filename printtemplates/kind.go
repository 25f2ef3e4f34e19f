package printtemplates

import (
	"fmt"
	"slices"
)

// Kind says what a stock is for, and with it which words its fields may show.
// The zero value is Tag.
type Kind uint8

// The kinds.
const (
	Tag   Kind = iota // hangs on a sling
	Badge             // names a person to the counter
	Slip              // goes out with a sling, for one lift
)

// kinds lists how files spell the kinds, in their order.
var kinds = []string{"tag", "badge", "slip"}

// String returns the spelling of the files: tag, badge or slip.
func (k Kind) String() string {
	if int(k) >= len(kinds) {
		return fmt.Sprintf("kind %d", uint8(k))
	}
	return kinds[k]
}

// HasSymbol says whether every stock of the kind has a symbol. A slip may do
// without: it is read by the person who lifts.
func (k Kind) HasSymbol() bool { return k != Slip }

// Process says how many colours a stock is printed in. The zero value is
// OneColour.
type Process uint8

// The processes. A laser or a punch has one colour.
const (
	OneColour Process = iota
	TwoColours
)

var processes = []string{"one colour", "two colours"}

// String returns the spelling of the files: "one colour" or "two colours".
func (p Process) String() string {
	if int(p) >= len(processes) {
		return fmt.Sprintf("process %d", uint8(p))
	}
	return processes[p]
}

// A Colour is one of the closed list that a crib may take for a period of
// inspections, so that a sling of an older period is seen from afar, and that a
// stock may have as its second colour. The zero Colour is none.
//
// Which period has which colour is the crib's to say (site policy, no source;
// colours by period are common practice, no source). A colour is never the only
// sign (WCAG 2.2, 1.4.1, from memory, not seen): its name is printed with it.
type Colour uint8

// The colours.
const (
	NoColour Colour = iota
	Red
	Orange
	Yellow
	Green
	Blue
	Violet
)

// colours are the names and what they look like. Black stands on each with a
// contrast of at least 4.5; of them only red is dark enough to be read itself
// on a light blank.
var colours = []struct {
	name    string
	r, g, b uint8
}{
	Red:    {"red", 0xE4, 0x1E, 0x28},
	Orange: {"orange", 0xFF, 0x8C, 0x1A},
	Yellow: {"yellow", 0xFF, 0xD4, 0x00},
	Green:  {"green", 0x3D, 0xB3, 0x5A},
	Blue:   {"blue", 0x5A, 0xA5, 0xFF},
	Violet: {"violet", 0xB9, 0x82, 0xF0},
}

// Colours lists the colours in their order.
func Colours() []Colour { return []Colour{Red, Orange, Yellow, Green, Blue, Violet} }

// ParseColour reads a colour's name. None has no name.
func ParseColour(name string) (Colour, error) {
	for _, c := range Colours() {
		if colours[c].name == name {
			return c, nil
		}
	}
	return NoColour, fmt.Errorf("printtemplates: read colour: %q is not one of %v", name, Colours())
}

// String returns the name; none has none.
func (c Colour) String() string {
	if int(c) >= len(colours) {
		return fmt.Sprintf("colour %d", uint8(c))
	}
	return colours[c].name
}

// RGB returns what the colour looks like, as sRGB. That of none is black.
func (c Colour) RGB() (r, g, b uint8) {
	if int(c) >= len(colours) {
		return 0, 0, 0
	}
	x := colours[c]
	return x.r, x.g, x.b
}

// ofKind are the words that a kind's fields may show; required are those that
// every stock of the kind has to show, and every content of it to fill.
var ofKind = map[Kind]struct{ may, required []Word }{
	Tag: {
		may:      []Word{ID, Size, Grade, Legs, Reach, LoadName, Load, Angle, Inspected, Due, Status, Code, Period},
		required: []Word{ID, Due, Status, Code},
	},
	Badge: {
		may:      []Word{Name, Role, Crib, Until, Code},
		required: []Word{Name, Role, Crib, Code},
	},
	Slip: {
		may: []Word{ID, Size, Grade, Legs, Reach, LoadName, Load, Angle, Code,
			Crib, Name, Issued, Until, Lift, Hitch, Required, Allowed, Record},
		required: []Word{ID, Crib, Name, Issued, Until, Lift, Required, Allowed},
	},
}

// Words lists the words that a field of a stock of the kind may show.
func (k Kind) Words() []Word { return slices.Clone(ofKind[k].may) }

// Required lists the words that every stock of the kind shows. Of a tag's due
// and status one is empty.
func (k Kind) Required() []Word { return slices.Clone(ofKind[k].required) }
