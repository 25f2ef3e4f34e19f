package web

import (
	"cribgate/core/gate"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
)

// A PlateAsk asks for the end of the plate's identification before a scan leads on:
// the tag was not read, only told by what it resembles. The zero PlateAsk asks nothing.
type PlateAsk struct {
	Path  string // where the answer goes: where the scan went
	Key   string
	Text  string // of the tag
	Way   counter.Way
	Typed Field
}

// owesPlate asks for the plate where a scan that was sent to path does not lead to its
// sling without. What was typed with it is looked at.
func (v *visit) owesPlate(path string, reading counter.Reading, found counter.Found) PlateAsk {
	typed, complaint := v.line("typed", tagcode.MaxIdent)
	reading.Typed = typed
	code := found.OwesPlate(reading)
	switch {
	case code == 0:
		return PlateAsk{}
	case code == gate.PlateMismatch && complaint == "":
		says := v.wordsOf(nil).says(code, gate.Answer{})
		complaint = says.Sentence + " " + says.Next
	}
	ask := PlateAsk{Path: path, Key: newKey(), Text: reading.Text, Way: reading.Way, Typed: plateField(typed, complaint)}
	ask.Typed.Focus = true
	return ask
}
