// Package pdf writes PDF documents (ISO 32000-1, PDF 1.7; clauses from memory,
// not seen) page by page to a stream: a page is written when it ends, and what
// is kept of it until the document ends is where its two objects begin. A document of ten thousand
// pages takes no more memory than one of ten.
//
// It knows paper, ink and letters and decides nothing about them. [New] begins
// a document, [Writer.Begin] a page; [Page] draws filled outlines and lines of
// text in micrometres from the top left corner of the paper, y downward;
// [Page.End] writes the page and [Writer.Close] the document's end, without
// which it cannot be read. The first error ends the document: every later call
// returns it, and nothing more is written.
//
// Text stays text. A [Font] is a TrueType file; the letters that were used are
// embedded once a document, with their widths and the way back to Unicode, so
// that the text can be searched, copied and read aloud. A letter that the font
// lacks is an error, [ErrGlyph], and never a blank.
//
// A document asks to be printed as large as it is: a viewer's print dialog that
// heeds it does not scale, and takes paper of the page's size. It carries no
// date, and its identifier is a digest of what is in it: the same pages give
// the same bytes.
package pdf

import (
	"bufio"
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"io"
	"strconv"

	"cribgate/core/quantity"
)

// Errors of a document. Those that a [Font] or a [Page] adds stand beside them.
var (
	ErrEmpty  = errors.New("document has no page")
	ErrClosed = errors.New("document is closed")
	ErrSize   = errors.New("page is as large as no page can be")
	ErrOrder  = errors.New("a page begins where another has ended, and each ends once")
)

// Info is what a document says of itself.
type Info struct {
	Title    string
	Language string // of the text, as BCP 47 has it: "en"; empty: not said
	Producer string // the program
}

// The numbers of the objects that every document has.
const (
	catalog = 1 + iota
	tree
	resources
	facts
	fixed = facts
)

// branch is how many pages hang on one node of the page tree, so that a viewer
// finds one of many without reading all.
const branch = 100

// A Writer is a document under way. It is for one goroutine.
type Writer struct {
	info  Info
	out   *bufio.Writer
	sum   hash.Hash // of all that was written
	at    int64     // bytes written
	spots []int64   // where object n, counted from 1, begins; 0 while it is not written
	err   error     // the first

	pages  int
	nodes  []int // full nodes of the page tree
	kids   []int // pages of the node under way
	node   int   // its number
	page   Page
	open   bool // the page
	fonts  []*used
	stamps []*Stamp
	packed bytes.Buffer
	zip    *zlib.Writer
	text   []byte // scratch
}

// New begins a document that is written to w. Nothing is written before there
// is something on a page.
func New(w io.Writer, info Info) *Writer {
	d := &Writer{info: info, out: bufio.NewWriterSize(w, 1<<16), sum: sha256.New(), spots: make([]int64, fixed)}
	d.page.doc = d
	return d
}

// Title changes what the document is called. It may be called until Close.
func (w *Writer) Title(title string) { w.info.Title = title }

// Begin begins the next page. The page before must have ended; the Page is
// valid until it ends itself.
func (w *Writer) Begin(width, height quantity.Length) *Page {
	// A side has at most 14,400 points of 1/72 inch (ISO 32000-1, annex C).
	const most = 200 * quantity.Inch
	if width <= 0 || height <= 0 || width > most || height > most {
		w.fail(fmt.Errorf("pdf: begin page %d: %w: %s × %s", w.pages+1, ErrSize, width, height))
	}
	if w.open {
		w.fail(fmt.Errorf("pdf: begin page %d: %w", w.pages+1, ErrOrder))
	}
	w.open = true
	w.page.begin(width, height)
	return &w.page
}

// fail keeps the first error.
func (w *Writer) fail(err error) {
	if w.err == nil {
		w.err = err
	}
}

// end writes the page under way.
func (w *Writer) end(p *Page) error {
	if !w.open {
		w.fail(fmt.Errorf("pdf: end page: %w", ErrOrder))
	}
	w.open = false
	if w.err != nil {
		return w.err
	}
	content := w.reserve()
	w.stream(content, nil, p.content)
	if len(w.kids) == 0 {
		w.node = w.reserve()
	}
	number := w.reserve()
	b := append(w.text[:0], "<</Type/Page/Parent "...)
	b = reference(b, w.node)
	b = append(b, "/MediaBox[0 0 "...)
	b = decimal(b, points(p.width))
	b = append(b, ' ')
	b = decimal(b, points(p.height))
	b = append(b, "]/Resources "...)
	b = reference(b, resources)
	b = append(b, "/Contents "...)
	b = reference(b, content)
	b = append(b, ">>"...)
	w.object(number, b)
	w.text = b
	w.pages++
	w.kids = append(w.kids, number)
	if len(w.kids) == branch {
		w.branch()
	}
	return w.err
}

// branch writes the node of the page tree under way.
func (w *Writer) branch() {
	if len(w.kids) == 0 {
		return
	}
	b := append(w.text[:0], "<</Type/Pages/Parent "...)
	b = reference(b, tree)
	w.object(w.node, kids(b, w.kids, len(w.kids)))
	w.nodes = append(w.nodes, w.node)
	w.kids = w.kids[:0]
}

// kids ends a node of the page tree.
func kids(b []byte, of []int, pages int) []byte {
	b = append(b, "/Count "...)
	b = strconv.AppendInt(b, int64(pages), 10)
	b = append(b, "/Kids["...)
	for i, n := range of {
		if i > 0 {
			b = append(b, ' ')
		}
		b = reference(b, n)
	}
	return append(b, "]>>"...)
}

// Close writes the end of the document. It fails with ErrEmpty where no page
// was written, and then nothing is written at all.
func (w *Writer) Close() error {
	if w.open {
		w.fail(fmt.Errorf("pdf: close: %w", ErrOrder))
	}
	if w.err != nil {
		return w.err
	}
	if w.pages == 0 {
		w.fail(fmt.Errorf("pdf: close: %w", ErrEmpty))
		return w.err
	}
	w.branch()
	w.object(tree, kids([]byte("<</Type/Pages"), w.nodes, w.pages))
	w.embed()
	b := append([]byte("<</Type/Catalog/Pages "), reference(nil, tree)...)
	b = append(b, "/ViewerPreferences<</PrintScaling/None/PickTrayByPDFSize true/DisplayDocTitle true>>"...)
	if w.info.Language != "" {
		b = append(append(b, "/Lang"...), text(w.info.Language)...)
	}
	w.object(catalog, append(b, ">>"...))
	b = append([]byte("<</Title"), text(w.info.Title)...)
	b = append(append(b, "/Producer"...), text(w.info.Producer)...)
	w.object(facts, append(b, ">>"...))
	w.trailer()
	if err := w.out.Flush(); err != nil {
		w.fail(fmt.Errorf("pdf: write: %w", err))
	}
	if w.err != nil {
		return w.err
	}
	w.err = fmt.Errorf("pdf: write: %w", ErrClosed)
	return nil
}
