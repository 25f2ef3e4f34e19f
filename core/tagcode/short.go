package tagcode

import (
	"errors"
	"strings"
)

// Short is what a short code holds: a serial and the top thirty bits of a
// sling number. It finds a tag in one register and proves nothing.
type Short struct {
	Serial Serial
	Part   uint32 // top 30 bits of the sling number
}

// ErrShort reports a text that is no short code, mistyped ones included.
var ErrShort = errors.New("tagcode: not a short code")

// digits are the figures and letters without I, L, O and U, which are misread
// in gloves and bad light.
const digits = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// checkSet is the character set of ISO 7064 MOD 37,36.
const checkSet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"

// ShortOf gives the short code of a tag.
func ShortOf(n Number, s Serial) Short { return Short{Serial: s, Part: uint32(n >> 34)} }

// String spells the code in three groups of three, the check character last.
func (s Short) String() string {
	v := uint64(s.Serial)<<30 | uint64(s.Part)
	var b [8]byte
	for i := 7; i >= 0; i-- {
		b[i] = digits[v&31]
		v >>= 5
	}
	return string(b[:3]) + "-" + string(b[3:6]) + "-" + string(b[6:]) + string(check(string(b[:])))
}

// ParseShort reads a code as a person types it: any case, with or without
// hyphens and spaces, O for 0 and I or L for 1. A code whose check character
// is wrong is ErrShort, like every other text.
func ParseShort(text string) (Short, error) {
	if len(text) > 64 {
		return Short{}, ErrShort
	}
	t := fold(strings.ToUpper(strings.NewReplacer("-", "", " ", "").Replace(text)))
	if len(t) != 9 {
		return Short{}, ErrShort
	}
	var v uint64
	for i := range 8 {
		d := strings.IndexByte(digits, t[i])
		if d < 0 {
			return Short{}, ErrShort
		}
		v = v<<5 | uint64(d)
	}
	s := Short{Serial: Serial(v >> 30), Part: uint32(v & (1<<30 - 1))}
	if fold(string(check(t[:8]))) != t[8:] || s.Serial == 0 {
		return Short{}, ErrShort
	}
	return s, nil
}

func fold(t string) string { return strings.NewReplacer("O", "0", "I", "1", "L", "1").Replace(t) }

// check is the ISO 7064 hybrid system MOD 37,36.
func check(body string) byte {
	p := 36
	for i := range len(body) {
		s := (p + strings.IndexByte(checkSet, body[i])) % 36
		if s == 0 {
			s = 36
		}
		p = s * 2 % 37
	}
	return checkSet[(37-p)%36]
}
