// Package symbol turns the text of a QR tag into its module grid.
//
// A tag's text is 64 characters of Base32 (RFC 4648 section 6, without
// padding), with or without an address before it. That leaves two symbols and
// no others:
//
//   - the bare text: version 5 at level H, whose alphanumeric room is exactly
//     64 characters (ISO/IEC 18004, capacity table, from memory, not seen;
//     recomputed from an open encoder's block tables);
//   - with a prefix of 1 to 23 characters of the alphanumeric set: version 5 at
//     level Q, whose room is 87 characters (same source).
//
// So every tag has one size, 37 modules, and needs a clear margin of four more
// on every side. Anything else is refused with its figure, as a [SizeError] or
// a [CharError]; a larger symbol is never taken instead, because the module on
// the metal would shrink without anybody having asked for it.
//
// The entry point is [Encode]; [Again] draws what was drawn before, by what a register
// has of it. A [Symbol] is immutable and may be shared.
//
// For whoever reads or judges a print, the way back is here too: [PartOf] says what
// each module is there for, [CodewordOf] which bit of which codeword it is,
// [Level.BlockOf] which block mends that codeword, and [Words] gathers a whole grid.
package symbol

import (
	"errors"
	"fmt"
	"strings"

	qrcode "github.com/skip2/go-qrcode"

	"cribgate/core/tagcode"
)

// What every symbol of this package has in common.
const (
	// Version of the symbol (ISO/IEC 18004).
	Version = 5
	// Modules on each side, 17 + 4 × Version, without the quiet zone.
	Modules = 17 + 4*Version
	// QuietZone is the clear margin on each side, in modules
	// (ISO/IEC 18004: four; from memory, not seen).
	QuietZone = 4
	// BodyLen is the length of a tag's own text, in characters: all the room
	// at level H.
	BodyLen = tagcode.Length
	// MaxPrefix is the longest prefix, in characters: the room at level Q less
	// BodyLen.
	MaxPrefix = 87 - BodyLen
)

const (
	// base32Set is the alphabet of RFC 4648 section 6, table 3.
	base32Set = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"
	// alphanumericSet is the alphanumeric mode's set (ISO/IEC 18004, from
	// memory, not seen; used so by an open encoder).
	alphanumericSet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
)

// Level is a level of error correction. The zero Level is none.
type Level byte

// The two levels that a tag is drawn at. The nominal share of codewords that
// can be mended is from ISO/IEC 18004 (from memory, not seen).
const (
	LevelQ Level = 'Q' // 25 %
	LevelH Level = 'H' // 30 %
)

// String returns the level's letter, or "none" for the zero Level.
func (l Level) String() string {
	if l == 0 {
		return "none"
	}
	return string(rune(l))
}

// A SizeError refuses a text for its length.
type SizeError struct {
	Len int // characters given
}

// Error gives the length and what it may be.
func (e *SizeError) Error() string {
	return fmt.Sprintf("symbol: encode tag: text has %d characters; a tag has %d, or up to %d with its prefix",
		e.Len, BodyLen, BodyLen+MaxPrefix)
}

// A CharError refuses a text for one of its characters.
type CharError struct {
	At  int    // place of the byte in the text, from 0
	Set string // what stands there by right
}

// Error gives the place and the set, and does not repeat the text.
func (e *CharError) Error() string {
	return fmt.Sprintf("symbol: encode tag: character %d is not one of %s", e.At+1, e.Set)
}

// errGrid is what a drawing by the encoder that is not the one asked for
// wraps.
var errGrid = errors.New("encoder drew another symbol than asked for")

// A Symbol is a tag's text as a grid of dark and light modules. The zero
// Symbol has no text and no dark module.
type Symbol struct {
	text  string
	level Level
	mask  int
	dark  [Modules][Modules]bool // row, column
}

// Encode returns the symbol of a tag's text: BodyLen characters of Base32, and
// before them up to MaxPrefix characters of the alphanumeric set. It fails
// with a [*SizeError] or a [*CharError]; on error the Symbol is zero.
func Encode(text string) (Symbol, error) {
	if err := check(text); err != nil {
		return Symbol{}, err
	}
	level, recovery := LevelH, qrcode.Highest
	if len(text) > BodyLen {
		level, recovery = LevelQ, qrcode.High
	}
	code, err := qrcode.NewWithForcedVersion(text, Version, recovery)
	if err != nil {
		return Symbol{}, fmt.Errorf("symbol: encode tag: %w", err)
	}
	code.DisableBorder = true
	s := Symbol{text: text, level: level}
	// Bitmap appends the terminator anew at each call: it is called once.
	if err := s.take(code.Bitmap()); err != nil {
		return Symbol{}, fmt.Errorf("symbol: encode tag: %w", err)
	}
	return s, nil
}

// check refuses what is no text of a tag.
func check(text string) error {
	if len(text) < BodyLen || len(text) > BodyLen+MaxPrefix {
		return &SizeError{Len: len(text)}
	}
	prefix := len(text) - BodyLen
	for i := 0; i < len(text); i++ {
		set := base32Set
		if i < prefix {
			set = alphanumericSet
		}
		if strings.IndexByte(set, text[i]) < 0 {
			return &CharError{At: i, Set: set}
		}
	}
	return nil
}

// take copies the encoder's grid and reads from it what was drawn.
func (s *Symbol) take(rows [][]bool) error {
	if len(rows) != Modules {
		return fmt.Errorf("%w: %d rows, not %d", errGrid, len(rows), Modules)
	}
	for y, row := range rows {
		if len(row) != Modules {
			return fmt.Errorf("%w: %d columns, not %d", errGrid, len(row), Modules)
		}
		copy(s.dark[y][:], row)
	}
	level, mask, err := s.readFormat()
	if err != nil {
		return err
	}
	if level != s.level {
		return fmt.Errorf("%w: level %s, not %s", errGrid, level, s.level)
	}
	s.mask = mask
	return nil
}

// Text returns the text that the symbol says, prefix included.
func (s Symbol) Text() string { return s.text }

// Level returns the level of error correction.
func (s Symbol) Level() Level { return s.level }

// Mask returns the number of the data mask, 0 to 7, as the symbol's own format
// bits say it.
func (s Symbol) Mask() int { return s.mask }

// Dark says whether the module in that column and row, counted from 0 at the
// top left, is dark. Outside the grid, in the quiet zone, nothing is.
func (s Symbol) Dark(column, row int) bool {
	if column < 0 || row < 0 || column >= Modules || row >= Modules {
		return false
	}
	return s.dark[row][column]
}
