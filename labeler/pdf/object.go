package pdf

import (
	"compress/zlib"
	"encoding/hex"
	"fmt"
	"math"
	"strconv"
	"unicode/utf16"

	"cribgate/core/quantity"
)

// reserve numbers an object that is written later.
func (w *Writer) reserve() int {
	w.spots = append(w.spots, 0)
	return len(w.spots)
}

// put writes bytes, unless something failed.
func (w *Writer) put(b []byte) {
	if w.err != nil {
		return
	}
	if _, err := w.out.Write(b); err != nil {
		w.fail(fmt.Errorf("pdf: write: %w", err))
		return
	}
	w.sum.Write(b) // a hash does not fail
	w.at += int64(len(b))
}

// head begins an object, and the first one the document.
func (w *Writer) head(number int) {
	if w.at == 0 {
		// The four bytes tell programs that this is no text.
		w.put([]byte("%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"))
	}
	w.spots[number-1] = w.at
	var b [24]byte
	w.put(append(strconv.AppendInt(b[:0], int64(number), 10), " 0 obj\n"...))
}

// object writes one object.
func (w *Writer) object(number int, body []byte) {
	w.head(number)
	w.put(body)
	w.put([]byte("\nendobj\n"))
}

// stream writes an object that is a compressed stream, with what its dictionary
// says besides.
func (w *Writer) stream(number int, more, data []byte) {
	if w.zip == nil {
		// A tag's page takes a third of the time and a fifth more room than at the
		// compressor's usual level.
		zip, err := zlib.NewWriterLevel(&w.packed, zlib.BestSpeed)
		if err != nil {
			w.fail(fmt.Errorf("pdf: compress: %w", err))
			return
		}
		w.zip = zip
	}
	w.packed.Reset()
	w.zip.Reset(&w.packed)
	_, err := w.zip.Write(data)
	if err == nil {
		err = w.zip.Close()
	}
	if err != nil {
		w.fail(fmt.Errorf("pdf: compress: %w", err))
		return
	}
	w.head(number)
	var room [160]byte
	b := append(append(room[:0], "<<"...), more...)
	b = append(b, "/Filter/FlateDecode/Length "...)
	b = strconv.AppendInt(b, int64(w.packed.Len()), 10)
	w.put(append(b, ">>stream\n"...))
	w.put(w.packed.Bytes())
	w.put([]byte("\nendstream\nendobj\n"))
}

// trailer writes the table of where each object begins, and the end. An offset
// has ten digits (ISO 32000-1, 7.5.4): a document ends before ten gigabytes.
func (w *Writer) trailer() {
	start := w.at
	id := w.sum.Sum(nil)[:16]
	if start > 9_999_999_999 {
		w.fail(fmt.Errorf("pdf: write: document has %d bytes, at most 9,999,999,999 can be counted", start))
	}
	w.put(fmt.Appendf(nil, "xref\n0 %d\n0000000000 65535 f \n", len(w.spots)+1))
	line := []byte("0000000000 00000 n \n")
	for _, spot := range w.spots {
		for i := 9; i >= 0; i-- {
			line[i] = byte('0' + spot%10)
			spot /= 10
		}
		w.put(line)
	}
	w.put(fmt.Appendf(nil, "trailer\n<</Size %d/Root %d 0 R/Info %d 0 R/ID[<%x><%x>]>>\nstartxref\n%d\n%%%%EOF\n",
		len(w.spots)+1, catalog, facts, id, id, start))
}

// reference adds a reference to an object.
func reference(b []byte, number int) []byte {
	return append(strconv.AppendInt(b, int64(number), 10), " 0 R"...)
}

// points is a length in points of 1/72 inch, the unit of a page.
func points(l quantity.Length) float64 { return float64(l) * 72 / float64(quantity.Inch) }

// decimal adds a number to four places: 35 nm where it is in points.
func decimal(b []byte, v float64) []byte {
	n := int64(math.Round(v * 1e4))
	if n%1e4 == 0 {
		return strconv.AppendInt(b, n/1e4, 10)
	}
	return strconv.AppendFloat(b, float64(n)/1e4, 'f', -1, 64)
}

// text spells a text string, whatever is in it: UTF-16, as hexadecimal digits.
func text(s string) []byte {
	b := []byte("<feff")
	for _, unit := range utf16.Encode([]rune(s)) {
		b = hex.AppendEncode(b, []byte{byte(unit >> 8), byte(unit)})
	}
	return append(b, '>')
}
