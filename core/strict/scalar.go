package strict

import (
	"math"
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
	for p.pos < len(p.text) {
		switch c := p.text[p.pos]; {
		case !special[c]:
			p.pos++
		case c == '"':
			p.leaf(node{kind: KindString, off: int32(start), length: int32(p.pos - start)})
			p.pos++
			return nil
		case c == '\\':
			return p.escapedString(start)
		default:
			return syntax(p.pos, "a control character in a string")
		}
	}
	return syntax(p.pos, "a string without an end")
}

// escapedString goes on from the first backslash of a string.
func (p *parser) escapedString(start int) *Error {
	var b strings.Builder
	b.Grow(2 * (p.pos - start + 32))
	for plain := start; p.pos < len(p.text); {
		c := p.text[p.pos]
		if !special[c] {
			p.pos++
			continue
		}
		b.WriteString(p.text[plain:p.pos])
		switch {
		case c == '"':
			p.leaf(node{kind: KindString, escaped: true, n: int64(len(p.decoded))})
			p.decoded = append(p.decoded, b.String())
			p.pos++
			return nil
		case c != '\\':
			return syntax(p.pos, "a control character in a string")
		}
		if err := p.escape(&b); err != nil {
			return err
		}
		plain = p.pos
	}
	return syntax(p.pos, "a string without an end")
}

// special are the bytes that do not stand for themselves in a string.
var special = func() (s [256]bool) {
	for c := range ' ' {
		s[c] = true
	}
	s['"'], s['\\'] = true, true
	return s
}()

func (p *parser) escape(b *strings.Builder) *Error {
	const letters, meaning = `"\/bfnrt`, "\"\\/\b\f\n\r\t"
	start := p.pos
	p.pos++
	if p.pos == len(p.text) {
		return syntax(p.pos, "a string without an end")
	}
	if i := strings.IndexByte(letters, p.text[p.pos]); i >= 0 {
		b.WriteByte(meaning[i])
		p.pos++
		return nil
	}
	p.pos = start
	first, ok := p.unit()
	if !ok {
		return syntax(start, "an unknown escape")
	}
	if !utf16.IsSurrogate(first) {
		b.WriteRune(first)
		return nil
	}
	second, ok := p.unit()
	r := utf16.DecodeRune(first, second)
	if !ok || r == utf8.RuneError {
		return syntax(start, "half of a surrogate pair")
	}
	b.WriteRune(r)
	return nil
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
