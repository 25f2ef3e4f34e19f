package tagcode

import (
	"crypto/hmac"
	"crypto/sha256"
	"strings"
)

// Length is the number of characters of a code's text, prefix apart.
const Length = 64

// MaxPrefix is the longest prefix: with it, the text still fits a version 5
// symbol at level Q (87 alphanumeric characters, ISO/IEC 18004).
const MaxPrefix = 23

// format is the version of the body that this package writes.
const format = 1

// A code is the forty bytes of a tag, a badge, a slip or a head, and a tag's prefix.
type code struct {
	prefix string
	body   [24]byte
	mac    [16]byte
}

// seal authenticates a body as one of the kind that label names.
func seal(k Key, body [24]byte, label string) code {
	return code{body: body, mac: k.mac(body[:], label)}
}

// split takes a text apart: ErrNotTag where it has another form than a code's.
// What the bytes say is not looked at.
func split(text string) (code, error) {
	if len(text) < Length {
		return code{}, ErrNotTag
	}
	prefix, text := text[:len(text)-Length], text[len(text)-Length:]
	if prefix != "" && !isPrefix(prefix) {
		return code{}, ErrNotTag
	}
	raw, err := base32Text.DecodeString(text)
	if err != nil || len(raw) != 40 || base32Text.EncodeToString(raw) != text {
		return code{}, ErrNotTag
	}
	return code{prefix: prefix, body: [24]byte(raw[:24]), mac: [16]byte(raw[24:])}, nil
}

func (c code) text() string {
	return c.prefix + base32Text.EncodeToString(append(c.body[:], c.mac[:]...))
}

// verify reports nil where the code was made with k, for the key f that it
// names, as one of label's kind; else ErrForged.
func (c code) verify(k Key, f Fingerprint, label string) error {
	want := k.mac(c.body[:], label)
	if k.IsZero() || f != k.Fingerprint() || !hmac.Equal(want[:], c.mac[:]) {
		return ErrForged
	}
	return nil
}

// Digest is SHA-256 of a code's text: what a register keeps of each tag that it
// printed, and accepts its own tags by.
func Digest(text string) [32]byte { return sha256.Sum256([]byte(text)) }

func isPrefix(p string) bool {
	host, ok := strings.CutPrefix(p, "HTTPS://")
	if !ok || len(p) > MaxPrefix || !strings.HasSuffix(host, "/") || len(host) < 2 || host[0] == '/' {
		return false
	}
	for i := 0; i < len(host); i++ {
		c := host[i]
		if !(c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '.' || c == '/' || c == ':') {
			return false
		}
	}
	return true
}
