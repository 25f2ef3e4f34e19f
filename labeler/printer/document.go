package printer

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
)

// Format is a kind of document, as its media type.
type Format string

// What this program makes and sends.
const (
	PDF Format = "application/pdf"
	PNG Format = "image/png"
)

// String is the kind in a word.
func (f Format) String() string {
	switch f {
	case PDF:
		return "PDF"
	case PNG:
		return "PNG"
	}
	return string(f)
}

// Errors of a document.
var (
	ErrDocument = errors.New("it is neither a PDF nor a PNG")
	ErrFormat   = errors.New("the printer does not take this kind of document")
)

// A Document is what is printed.
type Document struct {
	Name   string // for people, at the printer
	Format Format
	Open   func() (io.ReadCloser, error) // from its start, each time
}

// OpenFile returns the document that a file holds. It is told by its first
// bytes, whatever its name says; the error is ErrDocument where they are of
// something else.
func OpenFile(name string) (Document, error) {
	file, err := os.Open(name)
	if err != nil {
		return Document{}, fmt.Errorf("printer: open document: %w", err)
	}
	defer file.Close() // only read from
	head := make([]byte, 8)
	n, err := io.ReadFull(file, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return Document{}, fmt.Errorf("printer: read document: %w", err)
	}
	format, ok := formatOf(head[:n])
	if !ok {
		return Document{}, fmt.Errorf("printer: %s: %w", name, ErrDocument)
	}
	return Document{
		Name:   filepath.Base(name),
		Format: format,
		Open:   func() (io.ReadCloser, error) { return os.Open(name) },
	}, nil
}

// formatOf tells a document by its signature (ISO 32000-2, 7.5.2; ISO/IEC
// 15948, 5.2; from memory, not seen).
func formatOf(head []byte) (Format, bool) {
	switch {
	case bytes.HasPrefix(head, []byte("%PDF-")):
		return PDF, true
	case bytes.HasPrefix(head, []byte("\x89PNG\r\n\x1a\n")):
		return PNG, true
	}
	return "", false
}

// plain makes a text from elsewhere fit for one line on a terminal: nothing in
// it can move the cursor, and it does not go on for ever.
func plain(s string) string {
	const most = 200
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7f && r < 0xa0 || r == '\u2028' || r == '\u2029' || r >= '\u202a' && r <= '\u202e' || r >= '\u2066' && r <= '\u2069' {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
	if runes := []rune(s); len(runes) > most {
		s = string(runes[:most]) + "…"
	}
	return strings.TrimSpace(s)
}
