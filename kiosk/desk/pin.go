package desk

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	mathrand "math/rand/v2"
	"strings"

	"golang.org/x/crypto/argon2"
)

// MinDigits and MaxDigits bound the length of a PIN. NIST SP 800-63B 5.1.1
// (revision 3, from memory, not seen) wants at least 6 digits of a random
// secret and 8 characters of a chosen one; 6 for a chosen one is site policy,
// no source, and rests on [MaxFailures] and on [CheckPIN] refusing the PINs
// that are tried first.
const (
	MinDigits = 6
	MaxDigits = 12
)

// Reasons why a PIN cannot be chosen; each is found in the error of [CheckPIN]
// and [Desk.Choose].
var (
	ErrPINDigits = errors.New("a PIN is 6 to 12 digits")
	ErrPINSimple = errors.New("a PIN must not be a run or a repeated pattern of digits")
	ErrPINSame   = errors.New("the new PIN must differ from the one-time PIN")
)

// CheckPIN tells whether pin may be chosen: [ErrPINDigits] or [ErrPINSimple] if
// not. Refusing the commonest choices follows NIST SP 800-63B 5.1.1.2 (from
// memory, not seen); which ones those are is common practice, no source.
func CheckPIN(pin string) error {
	if len(pin) < MinDigits || len(pin) > MaxDigits {
		return ErrPINDigits
	}
	for i := range len(pin) {
		if pin[i] < '0' || pin[i] > '9' {
			return ErrPINDigits
		}
	}
	for step := -1; step <= 1; step++ {
		if isRun(pin, step) {
			return ErrPINSimple
		}
	}
	for period := 2; period <= 3; period++ {
		if strings.HasPrefix(strings.Repeat(pin[:period], len(pin)), pin) {
			return ErrPINSimple
		}
	}
	return nil
}

// isRun tells whether each digit is the one before it plus step, 9 and 0 being
// neighbours.
func isRun(pin string, step int) bool {
	for i := 1; i < len(pin); i++ {
		if (int(pin[i])-int(pin[i-1])-step)%10 != 0 {
			return false
		}
	}
	return true
}

// oneTime draws a PIN of MinDigits digits that CheckPIN accepts. Nobody can tell it
// who does not have the seed.
func oneTime(seed [32]byte) string {
	draw, limit := mathrand.New(mathrand.NewChaCha8(seed)), 1
	for range MinDigits {
		limit *= 10
	}
	for {
		if pin := fmt.Sprintf("%0*d", MinDigits, draw.IntN(limit)); CheckPIN(pin) == nil {
			return pin
		}
	}
}

// randomSeed is a seed that nobody has.
func randomSeed() (seed [32]byte) {
	rand.Read(seed[:]) // never fails: crypto/rand ends the program instead
	return seed
}

// Cost of one argon2id hash. Stored with each hash, so that raising it later
// leaves older PINs good.
const (
	hashTime   = 3
	hashMemory = 64 * 1024 // KiB
	hashLanes  = 1
	hashLen    = 32
	saltLen    = 16
)

// stranger is a hash at that cost which no PIN matches, since PINs are digits: against it
// the PIN of an unknown person is checked, so that it takes as long.
const stranger = "$argon2id$v=19$m=65536,t=3,p=1$WWRhU9Z2tYYRhwsU4iEg8g$AhA1PHM1BIvIblHQq801ojYuXG0V/VS8LC6krTkjhcA"

// hashPIN returns the argon2id hash of pin under a fresh salt, in the usual
// text form "$argon2id$v=19$m=…,t=…,p=…$salt$hash".
func hashPIN(pin string) string {
	salt := make([]byte, saltLen)
	rand.Read(salt) // never fails: crypto/rand ends the program instead
	sum := argon2.IDKey([]byte(pin), salt, hashTime, hashMemory, hashLanes, hashLen)
	enc := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s",
		argon2.Version, hashMemory, hashTime, hashLanes, enc.EncodeToString(salt), enc.EncodeToString(sum))
}

// matches tells whether pin gives the stored hash. An error means that the
// stored text is not one that hashPIN writes.
func matches(stored, pin string) (bool, error) {
	fields := strings.Split(stored, "$")
	if len(fields) != 6 || fields[0] != "" || fields[1] != "argon2id" {
		return false, errors.New("desk: stored PIN is not an argon2id hash")
	}
	if fields[2] != fmt.Sprintf("v=%d", argon2.Version) {
		return false, fmt.Errorf("desk: stored PIN has argon2 version %q", fields[2])
	}
	var memory, passes uint32
	var lanes uint8
	if _, err := fmt.Sscanf(fields[3], "m=%d,t=%d,p=%d", &memory, &passes, &lanes); err != nil {
		return false, fmt.Errorf("desk: stored PIN has cost %q: %w", fields[3], err)
	}
	if memory > 1<<20 || passes < 1 || passes > 100 || lanes < 1 {
		return false, fmt.Errorf("desk: stored PIN has cost %q, out of range", fields[3])
	}
	salt, err := base64.RawStdEncoding.DecodeString(fields[4])
	if err != nil {
		return false, fmt.Errorf("desk: salt of stored PIN: %w", err)
	}
	sum, err := base64.RawStdEncoding.DecodeString(fields[5])
	if err != nil {
		return false, fmt.Errorf("desk: hash of stored PIN: %w", err)
	}
	if len(salt) < saltLen || len(sum) < hashLen {
		return false, errors.New("desk: salt or hash of stored PIN is too short")
	}
	got := argon2.IDKey([]byte(pin), salt, passes, memory, lanes, uint32(len(sum)))
	return subtle.ConstantTimeCompare(got, sum) == 1, nil
}
