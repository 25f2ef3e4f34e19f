package strict

import (
	"math"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// Parse reads exactly one JSON value, with nothing but white space around it.
// It copies what it keeps: data may be used again. The error is an *[Error]
// with the byte at which the text stops being acceptable; the Value is then zero.
func Parse(data []byte) (Value, error) {
	p, err := parse(data, false)
	if err != nil {
		return Value{}, err
	}
	return Value{p, 0}, nil
}

// LineID finds the text under the top name "id" of a line that could not be
// answered, so that its error can be told together with the line's own id. ok
// is false where the line is not one object, or has not exactly one id, or one
// that is not a string. A doubled name elsewhere in the line does not hide the id.
func LineID(line []byte) (id string, ok bool) {
	d, err := parse(line, true)
	if err != nil || d.nodes[0].kind != KindObject {
		return "", false
	}
	for at := int32(1); at < d.nodes[0].end; at = d.nodes[at+1].end {
		if d.str(at) != "id" {
			continue
		}
		if ok || d.nodes[at+1].kind != KindString {
			return "", false
		}
		id, ok = d.str(at+1), true
	}
	return id, ok
}

type parser struct {
	document
	pos   int
	depth int
	loose bool // names may come twice and be any number: only to find the id of a bad line
}

func parse(data []byte, loose bool) (*document, error) {
	if len(data) > math.MaxInt32 {
		return nil, syntax(math.MaxInt32, "longer than 2 GB")
	}
	p := &parser{loose: loose}
	p.text = string(data)
	if !utf8.ValidString(p.text) {
		at := 0
		for at < len(p.text) {
			r, size := utf8.DecodeRuneInString(p.text[at:])
			if r == utf8.RuneError && size == 1 {
				break
			}
			at += size
		}
		return nil, syntax(at, "not UTF-8")
	}
	p.nodes = make([]node, 0, len(data)/8+8)
	p.space()
	if err := p.value(); err != nil {
		return nil, err
	}
	p.space()
	if p.pos != len(p.text) {
		return nil, syntax(p.pos, "text after the value")
	}
	return &p.document, nil
}

func (p *parser) space() {
	for p.pos < len(p.text) {
		switch p.text[p.pos] {
		case ' ', '\t', '\n', '\r':
			p.pos++
		default:
			return
		}
	}
}

// take steps over one byte if it is c.
func (p *parser) take(c byte) bool {
	if p.pos < len(p.text) && p.text[p.pos] == c {
		p.pos++
		return true
	}
	return false
}

func (p *parser) leaf(n node) {
	n.end = int32(len(p.nodes)) + 1
	p.nodes = append(p.nodes, n)
}

func (p *parser) value() *Error {
	if p.pos == len(p.text) {
		return syntax(p.pos, "a value is missing")
	}
	switch c := p.text[p.pos]; {
	case c == '{':
		return p.object()
	case c == '[':
		return p.array()
	case c == '"':
		return p.string()
	case c == '-' || '0' <= c && c <= '9':
		return p.number()
	case p.word("null"):
		p.leaf(node{kind: KindNull})
	case p.word("true"):
		p.leaf(node{kind: KindBool, n: 1})
	case p.word("false"):
		p.leaf(node{kind: KindBool})
	default:
		return syntax(p.pos, "not a JSON value")
	}
	return nil
}

func (p *parser) word(w string) bool {
	if strings.HasPrefix(p.text[p.pos:], w) {
		p.pos += len(w)
		return true
	}
	return false
}

func (p *parser) enter() *Error {
	p.depth++
	if p.depth > MaxDepth {
		return syntax(p.pos, "nested deeper than %d", MaxDepth)
	}
	p.pos++
	p.space()
	return nil
}

func (p *parser) array() *Error {
	if err := p.enter(); err != nil {
		return err
	}
	self := len(p.nodes)
	p.leaf(node{kind: KindArray})
	count := int64(0)
	for first := true; !p.take(']'); first = false {
		if !first {
			if !p.take(',') {
				return syntax(p.pos, "a comma or ] is missing")
			}
			p.space()
		}
		if err := p.value(); err != nil {
			return err
		}
		count++
		p.space()
	}
	p.leave(self, count)
	return nil
}

func (p *parser) leave(self int, count int64) {
	p.depth--
	p.nodes[self].end = int32(len(p.nodes))
	p.nodes[self].n = count
}

func (p *parser) object() *Error {
	if err := p.enter(); err != nil {
		return err
	}
	self := len(p.nodes)
	p.leaf(node{kind: KindObject})
	count := int64(0)
	for first := true; !p.take('}'); first = false {
		if !first {
			if !p.take(',') {
				return syntax(p.pos, "a comma or } is missing")
			}
			p.space()
		}
		start := p.pos
		if p.pos == len(p.text) || p.text[p.pos] != '"' {
			return syntax(p.pos, "a name is missing")
		}
		if err := p.string(); err != nil {
			return err
		}
		count++
		if err := p.freshName(self, start, count); err != nil {
			return err
		}
		p.space()
		if !p.take(':') {
			return syntax(p.pos, "a colon is missing")
		}
		p.space()
		if err := p.value(); err != nil {
			return err
		}
		p.space()
	}
	p.leave(self, count)
	return nil
}

// freshName checks the name read last against the earlier ones of the object.
func (p *parser) freshName(self, start int, count int64) *Error {
	if p.loose {
		return nil
	}
	if count > MaxNames {
		return syntax(start, "an object of more than %d names", MaxNames)
	}
	last := int32(len(p.nodes) - 1)
	name := p.str(last)
	for at := int32(self + 1); at < last; at = p.nodes[at+1].end {
		if p.str(at) == name {
			return syntax(start, "the name %q is given twice", name)
		}
	}
	return nil
}

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
		case c == '"':
			p.leaf(node{kind: KindString, off: int32(start), length: int32(p.pos - start)})
			p.pos++
			return nil
		case c == '\\':
			return p.escapedString(start)
		case c < ' ':
			return syntax(p.pos, "a control character in a string")
		}
		p.pos++
	}
	return syntax(p.pos, "a string without an end")
}

// escapedString goes on from the first backslash of a string.
func (p *parser) escapedString(start int) *Error {
	var b strings.Builder
	b.WriteString(p.text[start:p.pos])
	for p.pos < len(p.text) {
		switch c := p.text[p.pos]; {
		case c == '"':
			p.leaf(node{kind: KindString, escaped: true, n: int64(len(p.decoded))})
			p.decoded = append(p.decoded, b.String())
			p.pos++
			return nil
		case c == '\\':
			if err := p.escape(&b); err != nil {
				return err
			}
		case c < ' ':
			return syntax(p.pos, "a control character in a string")
		default:
			b.WriteByte(c)
			p.pos++
		}
	}
	return syntax(p.pos, "a string without an end")
}

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
