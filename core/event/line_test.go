package event

import (
	"errors"
	"reflect"
	"strings"
	"testing"

	"cribgate/core/quantity"
)

// A stated is a member of a loan's line that is written only where there is
// something to say, and its one spelling.
type stated struct {
	name string
	set  func(l *Line)
	text string
}

var statedMembers = []stated{
	{"weighed", func(l *Line) { l.Weighed = true }, `,"weighed":true`},
	{"drawn", func(l *Line) { l.Drawn = true }, `,"drawn":true`},
	{"lower", func(l *Line) { l.Lower = Shackle }, `,"lower":"shackle"`},
	{"slings", func(l *Line) { l.Slings = 2 }, `,"slings":2`},
	{"whole", func(l *Line) { l.Whole = 12 * quantity.Tonne }, `,"whole_10ug":1200000000000`},
	{"beam", func(l *Line) { l.Beam = 340*quantity.Kilogram + 1 }, `,"beam_10ug":34000000001`},
}

// lineSample is an issue whose line has the members that with tells.
func lineSample(with func(i int) bool) sample {
	who := PersonID{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16}
	l := Line{Loan: LoanID(who), Lift: 2, Share: Beam, Countersign: PersonID{15: 1}, Crane: "north", Seats: true}
	text := `{"rigger":"` + personText + `","return_by":"","serial":3,"typed":"","marked":"",` + verdict +
		`,"line":{"lift":2,"share":"beam","loan":"` + personText + `","countersign":"` + otherText + `","crane":"north","seats":true`
	for i, m := range statedMembers {
		if with(i) {
			m.set(&l)
			text += m.text
		}
	}
	return sample{Issued{Rigger: who, Serial: 3, Verdict: Verdict{Question: `{"id":"q"}`, Answer: "{}", Edition: "1"}, Line: l}, text + "}}"}
}

// lineSamples are lines with each of those members alone, and all but each.
func lineSamples() []sample {
	list := []sample{lineSample(func(int) bool { return true })}
	for n := range statedMembers {
		list = append(list, lineSample(func(i int) bool { return i == n }), lineSample(func(i int) bool { return i != n }))
	}
	return list
}

// Each member of a loan's line is written and read by itself, present and absent.
func TestEveryMemberOfALine(t *testing.T) {
	for _, s := range lineSamples() {
		if text, err := Encode(s.body); err != nil || string(text) != s.text || SchemaOf(s.body) != 2 {
			t.Errorf("schema %d, written\n%s\nwant\n%s\n%v", SchemaOf(s.body), text, s.text, err)
		}
		if back, err := Decode(KindIssued, 2, []byte(s.text)); err != nil || !reflect.DeepEqual(back, s.body) {
			t.Errorf("%s: read %+v, want %+v, %v", s.text, back, s.body, err)
		}
	}
	full, _ := lineSamples()[0].body.(Issued)
	for f, v := range reflect.ValueOf(full.Line).Fields() {
		if v.IsZero() && f.Name != "Span" && f.Name != "Headroom" { // those have a schema of their own
			t.Errorf("no sample has a %s", f.Name)
		}
	}
	// What is not there is not written, and what is written of nothing is another spelling.
	bare := lineSample(func(int) bool { return false }).text
	for _, m := range []string{`,"weighed":false`, `,"drawn":false`, `,"lower":""`, `,"slings":0`, `,"whole_10ug":0`, `,"beam_10ug":0`,
		`,"lower":"string"`, `,"slings":-1`, `,"slings":1001`, `,"whole_10ug":-1`, `,"beam_10ug":100000000000000001`, `,"beam_10ug":1,"beam_10ug":1`, `,"drawn":true,"weighed":true`} {
		text := strings.TrimSuffix(bare, "}}") + m + "}}"
		if b, err := Decode(KindIssued, 2, []byte(text)); !errors.Is(err, ErrBody) || b != nil {
			t.Errorf("%s: %+v, %v", m, b, err)
		}
	}
}
