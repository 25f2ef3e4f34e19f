package event

import (
	"errors"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxName is the longest name of a person or a crib, in characters. Site policy,
// no source.
const maxName = 60

// ErrName reports a name that is empty, too long or not printable.
var ErrName = errors.New("event: a name is 1 to 60 printable characters")

// CheckName gives the name of a person or a crib as it is kept: on one line, with
// single spaces. It is ErrName for one that is empty, over 60 characters, or has
// anything in it that is not seen, such as a mark that turns the writing round:
// two people would look the same.
func CheckName(name string) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	if name == "" || utf8.RuneCountInString(name) > maxName {
		return "", ErrName
	}
	for _, r := range name {
		if !unicode.IsPrint(r) || r == utf8.RuneError {
			return "", ErrName
		}
	}
	return name, nil
}
