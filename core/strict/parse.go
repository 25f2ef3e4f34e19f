package strict

import (
	"math"
	"strings"
	"unicode/utf8"
)

// Parse reads exactly one JSON value, with nothing but white space around it.
// It copies what it keeps: data may be used again. The error is an *[Error]
// with the byte at which the text stops being acceptable; the Value is then zero.
func Parse(data []byte) (Value, error) { return new(Parser).Parse(data) }

// A Parser parses one text after the other in the same memory. The zero Parser is
// ready; it is for one goroutine.
type Parser struct{ p parser }

// Parse is as the function Parse is, but its Value is good only until the next:
// what was read out of it, strings included, stays.
func (p *Parser) Parse(data []byte) (Value, error) {
	if err := p.p.parse(data, false); err != nil {
		return Value{}, err
	}
	return Value{&p.p.document, 0}, nil
}

// LineID finds the text under the top name "id" of a line that could not be
// answered, so that its error can be told together with the line's own id. ok
// is false where the line is not one object, or has not exactly one id, or one
// that is not a string. A doubled name elsewhere in the line does not hide the id.
func LineID(line []byte) (id string, ok bool) {
	d := new(parser)
	if err := d.parse(line, true); err != nil || d.nodes[0].kind != KindObject {
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
	few   [24]node // room for those of most texts, so that they come with the document
	pos   int
	depth int
	loose bool // names may come twice and be any number: only to find the id of a bad line
}

func (p *parser) parse(data []byte, loose bool) error {
	if len(data) > math.MaxInt32 {
		return syntax(math.MaxInt32, "longer than 2 GB")
	}
	if p.nodes == nil {
		p.nodes = p.few[:0]
	}
	clear(p.decoded)
	p.nodes, p.decoded = p.nodes[:0], p.decoded[:0]
	p.pos, p.depth, p.loose = 0, 0, loose
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
		return syntax(at, "not UTF-8")
	}
	p.space()
	if err := p.value(); err != nil {
		return err
	}
	p.space()
	if p.pos != len(p.text) {
		return syntax(p.pos, "text after the value")
	}
	return nil
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
