package tagcode

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Key authenticates tags. The zero value is no key and seals nothing.
type Key struct {
	secret [32]byte
	set    bool
}

// Fingerprint names a key without giving it away: four bytes, eight hex digits
// in text. The zero value names no key.
type Fingerprint [4]byte

// ErrKeyFile reports a text that is no key as MarshalText writes it.
var ErrKeyFile = errors.New("tagcode: not a tag key")

const keyPrefix = "cribgate-key-1 "

var base32Text = base32.StdEncoding.WithPadding(base32.NoPadding)

// NewKey draws a key from random, which must be a cryptographic source.
func NewKey(random io.Reader) (Key, error) {
	k := Key{set: true}
	if _, err := io.ReadFull(random, k.secret[:]); err != nil {
		return Key{}, fmt.Errorf("tagcode: draw a key: %w", err)
	}
	return k, nil
}

// ParseKey reads the text that MarshalText writes, with or without a final
// line feed. Anything else is ErrKeyFile, also a mistyped one: the last eight
// digits are the key's own fingerprint.
func ParseKey(text string) (Key, error) {
	text = strings.TrimSuffix(text, "\n")
	rest, ok := strings.CutPrefix(text, keyPrefix)
	if !ok {
		return Key{}, ErrKeyFile
	}
	body, finger, ok := strings.Cut(rest, " ")
	if !ok {
		return Key{}, ErrKeyFile
	}
	secret, err := base32Text.DecodeString(body)
	if err != nil || len(secret) != 32 {
		return Key{}, ErrKeyFile
	}
	k := Key{secret: [32]byte(secret), set: true}
	again, err := k.MarshalText()
	if err != nil || finger != k.Fingerprint().String() || string(again) != text+"\n" {
		return Key{}, ErrKeyFile
	}
	return k, nil
}

// MarshalText writes the key as the one line of a key file, line feed included.
func (k Key) MarshalText() ([]byte, error) {
	if !k.set {
		return nil, errors.New("tagcode: the zero key has no text")
	}
	return []byte(keyPrefix + base32Text.EncodeToString(k.secret[:]) + " " + k.Fingerprint().String() + "\n"), nil
}

// String never shows the key.
func (k Key) String() string { return "key " + k.Fingerprint().String() }

// GoString never shows the key.
func (k Key) GoString() string { return "tagcode.Key(" + k.Fingerprint().String() + ")" }

// IsZero reports whether k is no key.
func (k Key) IsZero() bool { return !k.set }

// Fingerprint names the key; the zero key has the zero fingerprint.
func (k Key) Fingerprint() Fingerprint {
	if !k.set {
		return Fingerprint{}
	}
	sum := sha256.Sum256(append([]byte("cribgate key"), k.secret[:]...))
	return Fingerprint(sum[:4])
}

// mac authenticates body for one kind of code. The label keeps a tag from
// passing as anything else that the same key may one day sign.
func (k Key) mac(body []byte, label string) [16]byte {
	h := hmac.New(sha256.New, k.secret[:])
	h.Write(body)
	h.Write([]byte(label))
	return [16]byte(h.Sum(nil)[:16])
}

// ParseFingerprint reads eight lower-case hex digits.
func ParseFingerprint(text string) (Fingerprint, error) {
	var f Fingerprint
	b, err := hex.DecodeString(text)
	if err != nil || len(b) != len(f) || f.fill(b) != text {
		return Fingerprint{}, fmt.Errorf("tagcode: %q is no key fingerprint (eight hex digits)", text)
	}
	return f, nil
}

func (f *Fingerprint) fill(b []byte) string {
	copy(f[:], b)
	return f.String()
}

// String gives eight lower-case hex digits.
func (f Fingerprint) String() string { return hex.EncodeToString(f[:]) }
