// Package tagcodetest makes codes to try readers with: genuine ones, and texts
// that come near to them and that nobody may take for genuine.
//
// [Codes] seals tags, badges and slips and spells heads, so many of each.
// [New] gives a [Forger] of a set of genuine texts, whose Next makes one text
// after the other in every way that people, scanners and cheats change a code:
// bits, characters, case, padding, other alphabets, cuts, splices, prefixes,
// other keys, one kind's seal on another's body, and chance alone. None of them
// is one of the genuine texts.
//
// Chance is handed in, so that a seed gives the same forgeries again. Nothing
// here is linked into a program.
package tagcodetest

import (
	"encoding/base32"
	"errors"
	"fmt"

	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// Chance is what a Forger draws from; a *rand.Rand of math/rand/v2 is one.
type Chance interface {
	IntN(n int) int
	Uint64() uint64
}

// A Code is a genuine text and what it is of.
type Code struct {
	Kind tagcode.Kind
	Text string
}

// Prefix is what the tags have that have one.
const Prefix = "HTTPS://CRIB.EXAMPLE/"

var alphabet = base32.StdEncoding.WithPadding(base32.NoPadding)

// Codes gives n genuine codes of each kind under a key: tags in turn with and
// without a prefix, inspected or not. Where the key is the zero key it fails.
func Codes(chance Chance, k tagcode.Key, n int) ([]Code, error) {
	list := make([]Code, 0, 4*n)
	for i := range n {
		tag, err := sealTag(chance, k, i)
		if err != nil {
			return nil, err
		}
		badge := tagcode.Badge{Key: k.Fingerprint(), Person: tagcode.Number(chance.Uint64()), Serial: serial(chance), Until: day(chance)}
		if i%3 == 0 {
			badge.Until = quantity.Date{}
		}
		b, err1 := badge.Seal(k)
		slip, err2 := tagcode.Slip{Key: k.Fingerprint(), Sling: tagcode.Number(chance.Uint64()), No: 1 + uint32(chance.IntN(1<<31)), Until: day(chance)}.Seal(k)
		head, err3 := spellHead(chance)
		if err := errors.Join(err1, err2, err3); err != nil {
			return nil, fmt.Errorf("tagcodetest: %w", err)
		}
		list = append(list, Code{tagcode.KindTag, tag}, Code{tagcode.KindBadge, b.Text()}, Code{tagcode.KindSlip, slip.Text()}, Code{tagcode.KindHead, head})
	}
	return list, nil
}

func sealTag(chance Chance, k tagcode.Key, i int) (string, error) {
	tag := tagcode.Tag{
		Key: k.Fingerprint(), Number: tagcode.Number(chance.Uint64()), Serial: serial(chance),
		Facts: tagcode.Facts{
			EN: i%2 == 0, Grade: uint8(1 + chance.IntN(3)), Size: uint8(chance.IntN(10)), Legs: uint8(1 + chance.IntN(4)),
			Reach: quantity.Length(chance.IntN(1<<17)) * quantity.Millimetre, Basis: 1, Kilograms: i%2 == 0, Load: uint32(1 + chance.IntN(1<<18-1)),
		},
	}
	if i%4 != 3 {
		tag.Inspected, tag.Outcome = day(chance), tagcode.Outcome(1+chance.IntN(3))
		tag.Due = tag.Inspected.AddDays(1 + chance.IntN(511))
	}
	sealed, err := tag.Seal(k)
	if err == nil && i%2 == 1 {
		sealed, err = sealed.WithPrefix(Prefix)
	}
	if err != nil {
		return "", fmt.Errorf("tagcodetest: %w", err)
	}
	return sealed.Text(), nil
}

func spellHead(chance Chance) (string, error) {
	h := tagcode.Head{At: int64(1 + chance.IntN(1_000_000))}
	copy(h.Hash[:], draw(chance, len(h.Hash)))
	return h.Text()
}

func serial(chance Chance) tagcode.Serial {
	return tagcode.Serial(1 + chance.IntN(int(tagcode.MaxSerial)))
}

// day gives a day of the 2020s and 2030s.
func day(chance Chance) quantity.Date {
	first, _ := quantity.NewDate(2020, 1, 1)
	return first.AddDays(chance.IntN(7000))
}

func draw(chance Chance, n int) []byte {
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(chance.Uint64())
	}
	return b
}
