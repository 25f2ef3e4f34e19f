// Package print turns slings into printed tags.
//
// A [Tag] is one tag ready to print: what it says, sealed. [Make] makes one;
// [ReadLines] makes them from lines of the machine surface and [FromRegister]
// from a register, which then knows them. [Job.Write] lays them out on a stock
// and writes the files, whole or not at all; an [Output] is the same tag by tag.
// Symbols are encoded as they are drawn, so that thousands of tags need no more
// memory than a few.
//
// The words under the symbol are taken from the tag's own forty bytes, so that
// what a person reads and what a machine reads cannot differ; only a load that the
// sling's record knows to be too high is not repeated. A tag says what its
// inspection found: where that is not "fit", or no date is due, it shows
// why the sling stays in and marks no month.
//
// A QR tag never stands in for the maker's rating tag, and no tag says that a
// sling may go out: that is decided at the counter, every time.
package print

import (
	"fmt"

	"cribgate/core/event"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// A Tag is one tag ready to print. The zero Tag says nothing and is not drawn.
type Tag struct {
	Sling  event.SlingID // in its register; zero where the tag comes from a line
	Ident  string        // the owner's identification
	Sealed tagcode.Sealed
	doubt  rating.TagDoubt // what the sling's record holds against the load
}

// A Drawn is a tag that was drawn, with what a register is to know of it.
type Drawn struct {
	Tag
	Printed event.TagPrinted
}

// Make seals what a tag says with the key and puts the prefix, which may be
// empty, before its text. It fails where the tag is of another sling or key.
func Make(ident string, says tagcode.Tag, key tagcode.Key, prefix string) (Tag, error) {
	if says.Number != tagcode.NumberOf(says.Key, ident) {
		return Tag{}, fmt.Errorf("print: make tag of %s: number %s is another sling's", ident, says.Number)
	}
	sealed, err := says.Seal(key)
	if err != nil {
		return Tag{}, fmt.Errorf("print: make tag of %s: %w", ident, err)
	}
	if sealed, err = sealed.WithPrefix(prefix); err != nil {
		return Tag{}, fmt.Errorf("print: make tag of %s: %w", ident, err)
	}
	return Tag{Ident: ident, Sealed: sealed}, nil
}

// Title names the tag in a list: whose it is, and which.
func (t Tag) Title() string { return fmt.Sprintf("%s tag %d", t.Ident, t.Sealed.Serial) }

// Encode returns the tag's symbol. It is the same each time.
func (t Tag) Encode() (symbol.Symbol, error) {
	s, err := symbol.Encode(t.Sealed.Text())
	if err != nil {
		return symbol.Symbol{}, fmt.Errorf("print: encode tag of %s: %w", t.Ident, err)
	}
	return s, nil
}

// Draw lays the tag out on a stock.
func (t Tag) Draw(stock printtemplates.Stock) (sheet.Drawing, error) {
	_, d, err := Job{Stock: stock}.Draw(t)
	return d, err
}

// printed is what a register records of the tag, printed on that stock.
func (t Tag) printed(stock printtemplates.Stock, s symbol.Symbol) event.TagPrinted {
	return event.TagPrinted{
		Serial:  t.Sealed.Serial,
		Key:     t.Sealed.Key,
		Digest:  tagcode.Digest(t.Sealed.Text()),
		Version: symbol.Version,
		Level:   s.Level().String(),
		Mask:    s.Mask(),
		Stock:   stock.Name,
	}
}
