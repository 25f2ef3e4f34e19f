package strict

import (
	"math"
	"math/bits"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// number follows the grammar of RFC 8259 section 6.
func (p *parser) number() *Error {
	start := p.pos
	negative := p.take('-')
	digits := p.pos
	p.digits()
	switch {
	case p.pos == digits:
		return syntax(p.pos, "a digit is missing")
	case p.text[digits] == '0' && p.pos > digits+1:
		return syntax(digits, "a number with a leading zero")
	}
	n, fits := integer(p.text[digits:p.pos], negative)
	if p.take('.') {
		fits = false
		if !p.digits() {
			return syntax(p.pos, "a digit is missing")
		}
	}
	if p.take('e') || p.take('E') {
		fits = false
		if !p.take('+') {
			p.take('-')
		}
		if !p.digits() {
			return syntax(p.pos, "a digit is missing")
		}
	}
	if !fits {
		n = 0
	}
	p.leaf(node{kind: KindNumber, integer: fits, n: n, off: int32(start), length: int32(p.pos - start)})
	return nil
}

func (p *parser) digits() bool {
	start := p.pos
	for p.pos < len(p.text) && '0' <= p.text[p.pos] && p.text[p.pos] <= '9' {
		p.pos++
	}
	return p.pos > start
}

// integer adds up digits below zero, where the range reaches one further.
func integer(digits string, negative bool) (n int64, fits bool) {
	for i := range len(digits) {
		d := int64(digits[i] - '0')
		if n < (math.MinInt64+d)/10 {
			return 0, false
		}
		n = n*10 - d
	}
	if negative {
		return n, true
	}
	return -n, n != math.MinInt64
}

func (p *parser) string() *Error {
	p.pos++
	start := p.pos
	p.pos = nextSpecial(p.text, start)
	switch {
	case p.pos == len(p.text):
		return syntax(p.pos, "a string without an end")
	case p.text[p.pos] == '"':
		p.leaf(node{kind: KindString, off: int32(start), length: int32(p.pos - start)})
		p.pos++
		return nil
	case p.text[p.pos] == '\\':
		return p.escapedString(start)
	}
	return syntax(p.pos, "a control character in a string")
}

// escapedString goes on from the first backslash of a string. Most strings fit
// where it writes them first, and are allocated once, as long as they are.
func (p *parser) escapedString(start int) *Error {
	var room [1024]byte
	b := room[:0]
	for from := start; p.pos < len(p.text); p.pos = nextSpecial(p.text, from) {
		b = append(b, p.text[from:p.pos]...)
		switch p.text[p.pos] {
		case '"':
			p.leaf(node{kind: KindString, escaped: true, n: int64(len(p.decoded))})
			p.decoded = append(p.decoded, string(b))
			p.pos++
			return nil
		case '\\':
			var err *Error
			if b, err = p.escape(b); err != nil {
				return err
			}
		default:
			return syntax(p.pos, "a control character in a string")
		}
		from = p.pos
	}
	return syntax(p.pos, "a string without an end")
}

// nextSpecial is the first byte from at on that does not stand for itself in a
// string, or the end. It looks at eight bytes in one: x-n&^x has the top bit of a
// byte set where that byte is below n, and the lowest such bit is always right.
func nextSpecial(s string, at int) int {
	const each, tops = 0x0101010101010101, 0x8080808080808080
	for ; at+8 <= len(s); at += 8 {
		x := uint64(s[at]) | uint64(s[at+1])<<8 | uint64(s[at+2])<<16 | uint64(s[at+3])<<24 |
			uint64(s[at+4])<<32 | uint64(s[at+5])<<40 | uint64(s[at+6])<<48 | uint64(s[at+7])<<56
		quote, backslash := x^each*'"', x^each*'\\'
		if found := ((x-each*' ')&^x | (quote-each)&^quote | (backslash-each)&^backslash) & tops; found != 0 {
			return at + bits.TrailingZeros64(found)/8
		}
	}
	for at < len(s) && !special[s[at]] {
		at++
	}
	return at
}

// special are the bytes that do not stand for themselves in a string.
var special = func() (s [256]bool) {
	for c := range ' ' {
		s[c] = true
	}
	s['"'], s['\\'] = true, true
	return s
}()

// escape adds to b what the escape at hand stands for.
func (p *parser) escape(b []byte) ([]byte, *Error) {
	const letters, meaning = `"\/bfnrt`, "\"\\/\b\f\n\r\t"
	start := p.pos
	p.pos++
	if p.pos == len(p.text) {
		return b, syntax(p.pos, "a string without an end")
	}
	if i := strings.IndexByte(letters, p.text[p.pos]); i >= 0 {
		p.pos++
		return append(b, meaning[i]), nil
	}
	p.pos = start
	first, ok := p.unit()
	if !ok {
		return b, syntax(start, "an unknown escape")
	}
	if !utf16.IsSurrogate(first) {
		return utf8.AppendRune(b, first), nil
	}
	second, ok := p.unit()
	r := utf16.DecodeRune(first, second)
	if !ok || r == utf8.RuneError {
		return b, syntax(start, "half of a surrogate pair")
	}
	return utf8.AppendRune(b, r), nil
}

// unit reads \uXXXX, one unit of UTF-16.
func (p *parser) unit() (rune, bool) {
	if !strings.HasPrefix(p.text[p.pos:], `\u`) || len(p.text) < p.pos+6 {
		return 0, false
	}
	var r rune
	for _, c := range []byte(p.text[p.pos+2 : p.pos+6]) {
		switch {
		case '0' <= c && c <= '9':
			r = r<<4 | rune(c-'0')
		case 'a' <= c && c <= 'f':
			r = r<<4 | rune(c-'a'+10)
		case 'A' <= c && c <= 'F':
			r = r<<4 | rune(c-'A'+10)
		default:
			return 0, false
		}
	}
	p.pos += 6
	return r, true
}
