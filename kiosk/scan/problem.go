package scan

import "strconv"

// A Problem is why no text was read. It is an error, and comparable: errors.Is
// finds it through any wrapping. The zero value is not used.
type Problem uint8

// The problems.
const (
	NotAnImage    Problem = iota + 1 // none of PNG, JPEG, GIF, WebP
	TooManyBytes                     // more than MaxBytes
	TooManyPixels                    // more than MaxPixels, or as much memory
	DamagedImage                     // it begins as an image, but cannot be decoded
	NoSymbol                         // an image in which no QR symbol is found
	DamagedSymbol                    // a symbol is found, but too much of it is wrong
	EmptySymbol                      // a symbol is read, and holds no text
	lastProblem
)

var problems = [...]struct{ name, sentence, next string }{
	NotAnImage:    {"not an image", "This file is not a picture that can be read here.", "Send a PNG, JPEG, GIF or WebP file."},
	TooManyBytes:  {"too many bytes", "This file is larger than 20 MB.", "Take the picture with a smaller size, or cut it down to the tag."},
	TooManyPixels: {"too many pixels", "This picture has more than 40 million pixels.", "Take the picture with a smaller size, or cut it down to the tag."},
	DamagedImage:  {"damaged image", "This picture is damaged or cut short.", "Take or send it again."},
	NoSymbol:      {"no symbol", "There is no QR symbol to be seen in this picture.", "Fill the picture with the tag, hold it flat and wipe it clean; or type the short code."},
	DamagedSymbol: {"damaged symbol", "There is a symbol in this picture, but it cannot be read.", "Wipe the tag and take the picture straight from the front, without glare; or type the short code."},
	EmptySymbol:   {"empty symbol", "The symbol in this picture holds nothing.", "This is not one of our tags: look for the tag with the short code under the symbol."},
}

func (p Problem) known() bool { return p > 0 && p < lastProblem }

// Error names the problem for a log.
func (p Problem) Error() string {
	if !p.known() {
		return "scan: problem " + strconv.Itoa(int(p))
	}
	return "scan: " + problems[p].name
}

// Sentence says the problem to a person.
func (p Problem) Sentence() string {
	if !p.known() {
		return "This picture cannot be read."
	}
	return problems[p].sentence
}

// Next says what to do about it.
func (p Problem) Next() string {
	if !p.known() {
		return "Take it again, or type the short code."
	}
	return problems[p].next
}
