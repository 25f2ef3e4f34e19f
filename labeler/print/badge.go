package print

import (
	"fmt"
	"io"
	"strings"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/strict"
	"cribgate/core/tagcode"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// A Badge is one badge ready to print. What its symbol says names a person of a
// register and nothing more: name, crib and role are for people. The zero Badge
// says nothing and is not drawn.
type Badge struct {
	Person     event.PersonID // of the register
	Name, Crib string
	Role       event.Roles
	Sealed     tagcode.SealedBadge
}

// ReadBadges makes a badge of each line, an object of these names and no others:
//
//	person   the person's id in the register, 32 hex digits
//	name     as the crib calls the person, up to 60 characters
//	crib     the crib's name
//	role     what it says under the name: attendant, rigger, inspector or keeper
//	badge    1 to 1023, never used twice for one person
//	until    the last day that it is good for, YYYY-MM-DD; null or left out for no end
//
// Lines are read as by [ReadLines].
func ReadBadges(r io.Reader, key tagcode.Key) ([]Badge, error) {
	return readEach(r, func(line []byte) (Badge, string, error) {
		b, err := readBadge(line, key)
		return b, fmt.Sprintf("badge %d of %s", b.Sealed.Serial, b.Person), err
	})
}

func readBadge(line []byte, key tagcode.Key) (Badge, error) {
	v, err := strict.Parse(line)
	if err != nil {
		return Badge{}, err
	}
	o := strict.Open("badge", v)
	person, err := event.ParsePersonID(o.Str("person"))
	if err != nil || person.IsZero() {
		o.Fail("person", "not the id of a person, 32 hex digits")
	}
	b := Badge{Person: person, Name: readName(o, "name"), Crib: readName(o, "crib")}
	if b.Role, err = event.ParseRole(o.Str("role")); err != nil {
		o.Fail("role", "not attendant, rigger, inspector or keeper")
	}
	says := tagcode.Badge{
		Key: key.Fingerprint(), Person: tagcode.NumberOf(key.Fingerprint(), person.String()),
		Serial: tagcode.Serial(o.Int("badge", 1, int64(tagcode.MaxSerial))),
	}
	if o.Has("until") {
		if says.Until, err = quantity.ParseDate(o.Str("until")); err != nil {
			o.Fail("until", "not a date of the form YYYY-MM-DD")
		}
	}
	if err := o.Done(); err != nil {
		return Badge{}, err
	}
	if b.Sealed, err = says.Seal(key); err != nil {
		return Badge{}, fmt.Errorf("print: make badge of %s: %w", b.Name, err)
	}
	return b, nil
}

// readName reads a name that is spelled as it is kept.
func readName(o *strict.Object, field string) string {
	text := o.Str(field)
	if name, err := event.CheckName(text); err != nil || name != text {
		o.Fail(field, "not 1 to 60 printable characters with single spaces")
	}
	return text
}

// Title names the badge in a list: whose it is, and which.
func (b Badge) Title() string { return fmt.Sprintf("%s badge %d", b.Name, b.Sealed.Serial) }

func (b Badge) draw(j Job) (Drawn, sheet.Drawing, error) {
	d, err := b.Draw(j.Stock)
	return Drawn{}, d, err
}

// Draw lays the badge out on a stock.
func (b Badge) Draw(stock printtemplates.Stock) (sheet.Drawing, error) {
	s, err := symbol.Encode(b.Sealed.Text())
	if err != nil {
		return sheet.Drawing{}, fmt.Errorf("print: encode badge of %s: %w", b.Name, err)
	}
	role := b.Role.String()
	d, err := sheet.Layout(stock, sheet.Content{Kind: printtemplates.Badge, Symbol: s, Facts: map[printtemplates.Word]string{
		printtemplates.Name:  b.Name,
		printtemplates.Crib:  b.Crib,
		printtemplates.Role:  strings.ToUpper(role[:1]) + role[1:],
		printtemplates.Until: b.Sealed.Until.Long(),
		printtemplates.Code:  fmt.Sprintf("Badge %d", b.Sealed.Serial),
	}})
	if err != nil {
		return sheet.Drawing{}, fmt.Errorf("print: %w", err)
	}
	return d, nil
}
