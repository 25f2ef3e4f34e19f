// Package print turns slings into printed tags.
//
// A [Tag] is one tag ready to print: what it says, sealed, and its symbol.
// [Make] makes one; [ReadLines] makes them from lines of the machine surface
// and [FromRegister] from a register, which then knows them. [Job.Write] lays
// them out on a stock and writes the file, whole or not at all.
//
// The words under the symbol are taken from the tag's own forty bytes, so that
// what a person reads and what a machine reads cannot differ. A tag says what
// its inspection found: where that is not "fit", or no date is due, it shows
// why the sling stays in and marks no month.
//
// A QR tag never stands in for the maker's rating tag, and no tag says that a
// sling may go out: that is decided at the counter, every time.
package print

import (
	"fmt"

	"cribgate/core/event"
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
	Symbol symbol.Symbol
}

// Make seals what a tag says with the key and encodes it, after the prefix,
// which may be empty. It fails where the tag is of another sling or key.
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
	s, err := symbol.Encode(sealed.Text())
	if err != nil {
		return Tag{}, fmt.Errorf("print: make tag of %s: %w", ident, err)
	}
	return Tag{Ident: ident, Sealed: sealed, Symbol: s}, nil
}

// Draw lays the tag out on a stock.
func (t Tag) Draw(stock printtemplates.Stock) (sheet.Drawing, error) {
	return sheet.Layout(stock, t.content())
}

// Printed is what a register records of the tag, printed on that stock.
func (t Tag) Printed(stock printtemplates.Stock) event.TagPrinted {
	return event.TagPrinted{
		Serial:  t.Sealed.Serial,
		Key:     t.Sealed.Key,
		Digest:  tagcode.Digest(t.Sealed.Text()),
		Version: symbol.Version,
		Level:   t.Symbol.Level().String(),
		Mask:    t.Symbol.Mask(),
		Stock:   stock.Name,
	}
}
