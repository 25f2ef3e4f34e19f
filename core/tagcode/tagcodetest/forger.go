package tagcodetest

import (
	"encoding/base32"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"cribgate/core/tagcode"
)

// Forger makes texts out of genuine ones. It is for one goroutine.
type Forger struct {
	chance  Chance
	genuine []string
	alien   []string // genuine codes of another key
	is      map[string]bool
}

// New gives a forger of the texts, which are not changed. other is a key that
// nobody trusts.
func New(chance Chance, genuine []string, other tagcode.Key) (*Forger, error) {
	if len(genuine) == 0 {
		return nil, fmt.Errorf("tagcodetest: nothing to forge")
	}
	codes, err := Codes(chance, other, 8)
	if err != nil {
		return nil, err
	}
	f := &Forger{chance: chance, genuine: genuine, is: make(map[string]bool, len(genuine))}
	for _, c := range codes {
		if c.Kind != tagcode.KindHead { // a head has no key, so that it is nobody's
			f.alien = append(f.alien, c.Text)
		}
	}
	for _, text := range genuine {
		f.is[text] = true
	}
	return f, nil
}

// A way changes a genuine text.
type way struct {
	name string
	make func(f *Forger, text string) string
}

var ways = []way{
	{"bits", (*Forger).bits}, {"bits of the seal", (*Forger).sealBits}, {"characters", (*Forger).characters},
	{"characters swapped", (*Forger).swapped}, {"look-alikes", (*Forger).lookAlikes}, {"case", (*Forger).otherCase},
	{"padding", (*Forger).padding}, {"another alphabet", (*Forger).otherAlphabet}, {"cut or drawn out", (*Forger).cut},
	{"spliced", (*Forger).spliced}, {"prefix", (*Forger).prefix}, {"blanks", (*Forger).blanks}, {"another key", (*Forger).otherKey},
	{"one kind's seal on another's body", (*Forger).crossed}, {"a field", (*Forger).field}, {"chance", (*Forger).anything},
}

// Ways names every way in which texts are made.
func Ways() []string {
	var names []string
	for _, w := range ways {
		names = append(names, w.name)
	}
	return names
}

// Next gives one more text and the way in which it was made.
func (f *Forger) Next() (text, way string) {
	for {
		w := ways[f.chance.IntN(len(ways))]
		if text = w.make(f, f.any()); !f.is[text] {
			return text, w.name
		}
	}
}

func (f *Forger) any() string { return f.genuine[f.chance.IntN(len(f.genuine))] }

// parts gives the prefix and the forty bytes of a genuine text.
func parts(text string) (prefix string, b []byte) {
	at := max(0, len(text)-tagcode.Length)
	b, err := alphabet.DecodeString(text[at:])
	if err != nil || len(b) != 40 {
		return "", make([]byte, 40) // what a caller took for genuine is none
	}
	return text[:at], b
}

func join(prefix string, b []byte) string { return prefix + alphabet.EncodeToString(b) }

func (f *Forger) flip(b []byte, from int) {
	for range 1 + f.chance.IntN(1+f.chance.IntN(8)) {
		i := from + f.chance.IntN(8*len(b)-from)
		b[i/8] ^= 0x80 >> (i % 8)
	}
}

func (f *Forger) bits(text string) string {
	prefix, b := parts(text)
	f.flip(b, 0)
	return join(prefix, b)
}

func (f *Forger) sealBits(text string) string {
	prefix, b := parts(text)
	f.flip(b, 8*24)
	return join(prefix, b)
}

func (f *Forger) characters(text string) string {
	b := []byte(text)
	for range 1 + f.chance.IntN(4) {
		b[f.chance.IntN(len(b))] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"[f.chance.IntN(32)]
	}
	return string(b)
}

func (f *Forger) swapped(text string) string {
	b := []byte(text)
	for range 1 + f.chance.IntN(2) {
		i := f.chance.IntN(len(b) - 1)
		j := i + 1
		if f.chance.IntN(2) == 0 {
			j = f.chance.IntN(len(b))
		}
		b[i], b[j] = b[j], b[i]
	}
	return string(b)
}

// lookAlikes puts in what a person, a foreign font or a wrong keyboard makes of a
// character.
func (f *Forger) lookAlikes(text string) string {
	i := f.chance.IntN(len(text))
	with := []string{
		"0", "1", "8", "9", "O", "I", "B", "l", " ", "\x00", "-", "=", "А" /* Cyrillic */, "Ａ" /* full width */, "\u0301", "\xff", "\u200b",
	}
	return text[:i] + with[f.chance.IntN(len(with))] + text[i+1:]
}

func (f *Forger) otherCase(text string) string {
	if f.chance.IntN(2) == 0 {
		return strings.ToLower(text)
	}
	i := f.chance.IntN(len(text))
	j := min(len(text), i+1+f.chance.IntN(8))
	return text[:i] + strings.ToLower(text[i:j]) + text[j:]
}

func (f *Forger) padding(text string) string {
	pad := strings.Repeat("=", 1+f.chance.IntN(8))
	switch f.chance.IntN(3) {
	case 0:
		return text + pad
	case 1:
		return text[:len(text)-1] + "="
	}
	return pad + text
}

func (f *Forger) otherAlphabet(text string) string {
	prefix, b := parts(text)
	switch f.chance.IntN(6) {
	case 0:
		return prefix + base32.HexEncoding.EncodeToString(b)
	case 1:
		return prefix + base32.NewEncoding("0123456789ABCDEFGHJKMNPQRSTVWXYZ").WithPadding(base32.NoPadding).EncodeToString(b)
	case 2:
		return prefix + strings.ToUpper(hex.EncodeToString(b))
	case 3:
		return prefix + base64.StdEncoding.EncodeToString(b)
	case 4:
		return prefix + string(b) // the bytes themselves
	}
	slices.Reverse(b)
	return join(prefix, b)
}

func (f *Forger) cut(text string) string {
	n := 1 + f.chance.IntN(len(text))
	switch f.chance.IntN(5) {
	case 0:
		return text[n:]
	case 1:
		return text[:len(text)-n]
	case 2:
		return text + text[:n]
	case 3:
		return text[len(text)-n:] + text
	}
	return text[:n-1] + text[n:] // one character dropped
}

// spliced joins parts of two or three genuine texts, often where a field ends.
func (f *Forger) spliced(text string) string {
	prefix, a := parts(text)
	_, b := parts(f.any())
	if f.chance.IntN(2) == 0 {
		ends := []int{36, 100, 110, 126, 128, 137, 138, 140, 144, 146, 147, 164, 167, 168, 186} // of the fields, in bits
		at := ends[f.chance.IntN(len(ends))]
		for i := at; i < 8*len(a); i++ {
			bit := byte(0x80) >> (i % 8)
			a[i/8] = a[i/8]&^bit | b[i/8]&bit
		}
		return join(prefix, a)
	}
	one, two := join("", a), join("", b)
	i := f.chance.IntN(tagcode.Length)
	j := i + f.chance.IntN(tagcode.Length-i)
	return prefix + one[:i] + two[i:j] + one[j:]
}

// prefix puts something in front of a text that has none, or takes away or
// changes what it has.
func (f *Forger) prefix(text string) string {
	had, b := parts(text)
	with := []string{
		"", Prefix, "HTTPS://OTHER.EXAMPLE/", "HTTPS://A/", "HTTPS:///", "HTTPS://", "HTTP://A/", "https://A/", "HTTPS://A", "HTTPS://A?/",
		"HTTPS://A/HTTPS://B/", "HTTPS://A.LONGER.EXAMPLE/", "HTTPS://Ä/", "HTTPS://A /", " ", "\n", "X", "/", Prefix + Prefix, had + had, " " + had,
	}
	return join(with[f.chance.IntN(len(with))], b)
}

func (f *Forger) blanks(text string) string {
	with := []string{" ", "\n", "\r\n", "\t", "\x00", "\ufeff", "\u00a0", "\u200b", "\x1d", "]Q3"}
	blank := with[f.chance.IntN(len(with))]
	switch i := f.chance.IntN(len(text)); f.chance.IntN(4) {
	case 0:
		return blank + text
	case 1:
		return text + blank
	case 2:
		return blank + text + blank
	default:
		return text[:i] + blank + text[i:]
	}
}

// otherKey gives a code that another owner sealed, as it is or with this crib's
// name for its key.
func (f *Forger) otherKey(text string) string {
	prefix, ours := parts(text)
	_, b := parts(f.alien[f.chance.IntN(len(f.alien))])
	if f.chance.IntN(2) == 0 {
		named(b, ours)
	}
	return join(prefix, b)
}

// named writes the fingerprint of one code, bits 4 to 36, over that of another.
func named(b, as []byte) {
	b[0] = b[0]&0xF0 | as[0]&0x0F
	copy(b[1:4], as[1:4])
	b[4] = b[4]&0x0F | as[4]&0xF0
}

// crossed puts the seal of one code on the body of another.
func (f *Forger) crossed(text string) string {
	prefix, a := parts(text)
	_, b := parts(f.any())
	copy(a[24:], b[24:])
	return join(prefix, a)
}

// field gives a tag that says more than was sealed, in its own good form and
// with the seal of what it said.
func (f *Forger) field(text string) string {
	sealed, err := tagcode.Parse(text)
	if err != nil { // another kind: a field of it is some of its bits
		return f.bits(text)
	}
	prefix, b := parts(text)
	put := func(from, n int, v uint64) {
		for i := range n {
			bit := byte(0x80) >> ((from + i) % 8)
			b[(from+i)/8] &^= bit
			if v>>(n-1-i)&1 == 1 {
				b[(from+i)/8] |= bit
			}
		}
	}
	switch f.chance.IntN(6) {
	case 0:
		put(36, 64, f.chance.Uint64()) // another sling
	case 1:
		put(100, 10, uint64(1+f.chance.IntN(int(tagcode.MaxSerial))))
	case 2:
		put(126, 2, uint64(tagcode.Fit)) // fit after all
	case 3:
		put(128, 9, uint64(1+f.chance.IntN(511))) // due later
	case 4:
		put(168, 18, uint64(sealed.Load)*2&(1<<18-1)) // twice the load
	default:
		put(144, 2, uint64(f.chance.IntN(4))) // more legs
	}
	return join(prefix, b)
}

// anything is chance alone, now and then with this crib's name for its key.
func (f *Forger) anything(text string) string {
	switch f.chance.IntN(4) {
	case 0:
		b := draw(f.chance, 40)
		return join("", b)
	case 1:
		_, ours := parts(text)
		b := draw(f.chance, 40)
		named(b, ours)
		b[0] = 0x10 | b[0]&0x0F
		return join("", b)
	case 2:
		b := draw(f.chance, 40)
		copy(b, make([]byte, 3)) // as a head begins
		return join("", b)
	}
	return string(draw(f.chance, f.chance.IntN(200)))
}
