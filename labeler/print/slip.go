package print

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/strict"
	"cribgate/core/tagcode"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// A Slip is one lift slip ready to print: a question that the gate answers with
// "issue", for which sling, for whom and until when. Its figures are the
// answer's, never anybody's own. It permits nothing: the counter asks the gate
// again. The zero Slip says nothing and is not drawn.
type Slip struct {
	Name, Crib string
	What       string // is lifted
	Question   gate.Question
	Answer     gate.Answer
	Sealed     tagcode.SealedSlip
}

// ErrStays is what a LineError wraps where the gate says that the sling stays.
var ErrStays = errors.New("the sling may not go out for that lift")

// ReadSlips makes a slip of each line: a question of the machine surface whose
// "id" is the sling's identification, with a lift that says by when it is back
// ("return_by"), and in it
//
//	slip     the slip's own number, 1 to 4294967295; with sling and day never the same
//	name     for whom, up to 60 characters
//	crib     the crib's name
//	what     is lifted, in words, up to 60 characters
//
// A line that the gate refuses is ErrStays with the reasons. Lines are read as by
// [ReadLines].
func ReadSlips(r io.Reader, key tagcode.Key) ([]Slip, error) {
	return readEach(r, func(line []byte) (Slip, string, error) {
		s, err := readSlip(line, key)
		return s, fmt.Sprintf("slip %d of %s until %s", s.Sealed.No, s.Question.ID, s.Sealed.Until), err
	})
}

func readSlip(line []byte, key tagcode.Key) (Slip, error) {
	v, err := strict.Parse(line)
	if err != nil {
		return Slip{}, err
	}
	o := strict.Open("slip", v)
	s := Slip{
		Name: readName(o, "name"), Crib: readName(o, "crib"), What: readName(o, "what"),
		Question: gate.ReadQuestion(o),
	}
	no := uint32(o.Int("slip", 1, math.MaxUint32))
	if err := tagcode.CheckIdent(s.Question.ID); err != nil {
		o.Fail("id", "%v", err)
	}
	if s.Question.Lift == nil {
		o.Fail("lift", "missing")
	} else if s.Question.Lift.ReturnBy.IsZero() {
		o.Fail("lift", "does not say return_by, by when the sling is back")
	}
	if err := o.Done(); err != nil {
		return Slip{}, err
	}
	if s.Answer, err = gate.Decide(s.Question); err != nil {
		return Slip{}, err
	}
	if !s.Answer.May() {
		return Slip{}, fmt.Errorf("%w: %s", ErrStays, s.against())
	}
	says := tagcode.Slip{
		Key: key.Fingerprint(), Sling: tagcode.NumberOf(key.Fingerprint(), s.Question.ID),
		No: no, Until: s.Question.Lift.ReturnBy,
	}
	if s.Sealed, err = says.Seal(key); err != nil {
		return Slip{}, fmt.Errorf("print: make slip %d of %s: %w", no, s.Question.ID, err)
	}
	return s, nil
}

// against gives the sentences of what stands against the lift.
func (s Slip) against() string {
	var sentences []string
	for _, r := range s.Answer.Reasons {
		sentences = append(sentences, r.Text(s.Answer, gate.Speech{Units: s.units()}).Sentence)
	}
	return strings.Join(sentences, " ")
}

func (s Slip) units() quantity.Units {
	if s.Question.Sling.System == rating.EN {
		return quantity.Metric
	}
	return quantity.Imperial
}

// Title names the slip in a list: for which sling it is, and which.
func (s Slip) Title() string { return fmt.Sprintf("%s slip %d", s.Question.ID, s.Sealed.No) }

func (s Slip) draw(j Job) (Drawn, sheet.Drawing, error) {
	d, err := s.Draw(j.Stock)
	return Drawn{}, d, err
}

// Draw lays the slip out on a stock.
func (s Slip) Draw(stock printtemplates.Stock) (sheet.Drawing, error) {
	c := sheet.Content{Kind: printtemplates.Slip, Facts: s.facts()}
	var err error
	if c.Symbol, err = symbol.Encode(s.Sealed.Text()); err != nil {
		return sheet.Drawing{}, fmt.Errorf("print: encode slip of %s: %w", s.Question.ID, err)
	}
	d, err := sheet.Layout(stock, c)
	if err != nil {
		return sheet.Drawing{}, fmt.Errorf("print: %w", err)
	}
	return d, nil
}

// facts are the slip's words: of the sling what its tag says, of the lift what
// was asked and answered. What is required is rounded up and what is allowed
// down, to the unit.
func (s Slip) facts() map[printtemplates.Word]string {
	lift, units := s.Question.Lift, s.units()
	unit := quantity.Pound
	if units == quantity.Metric {
		unit = quantity.Kilogram
	}
	facts := plateFacts(rating.FromTag(s.Question.Sling.TagFacts()))
	correct(facts, s.Question.Sling.TagDoubt())
	for word, text := range map[printtemplates.Word]string{
		printtemplates.ID:       s.Question.ID,
		printtemplates.Name:     s.Name,
		printtemplates.Crib:     s.Crib,
		printtemplates.Issued:   s.Question.Now.Long(),
		printtemplates.Until:    s.Sealed.Until.Long(),
		printtemplates.Lift:     s.What + ", " + units.Mass(lift.Load.Ceil(unit)),
		printtemplates.Hitch:    lift.Words(),
		printtemplates.Required: units.Mass(s.Answer.Required.Ceil(unit)),
		printtemplates.Allowed:  units.Mass(s.Answer.Allowed.Floor(unit)),
		printtemplates.Code:     fmt.Sprintf("Slip %d", s.Sealed.No),
	} {
		facts[word] = text
	}
	return facts
}
