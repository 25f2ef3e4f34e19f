package render

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// ErrNoTag is what PDF.Write returns for a document without pages.
var ErrNoTag = errors.New("render: write PDF: no tag in it")

// A PDF is a document of tags, a page each, as large as the blank. Text is
// text, in embedded fonts, so that it can be searched and read aloud. The
// document is held in memory until it is written. It is for one goroutine.
type PDF struct {
	doc      *fpdf.Fpdf
	options  Options
	embedded map[printtemplates.Font]bool
}

// NewPDF begins a document.
func NewPDF(o Options) *PDF {
	doc := fpdf.New("P", "pt", "A4", "")
	// A document states when it was made; a fixed day keeps equal tags equal.
	day := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	doc.SetCreationDate(day)
	doc.SetModificationDate(day)
	doc.SetCatalogSort(true)
	doc.SetProducer("labeler", false)
	doc.SetTitle("QR tags", false)
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	return &PDF{doc: doc, options: o, embedded: map[printtemplates.Font]bool{}}
}

// points is a length in PDF points, 1/72 inch.
func points(l quantity.Length) float64 { return float64(l) * 72 / float64(quantity.Inch) }

// Add draws a tag on a new page.
func (p *PDF) Add(d sheet.Drawing) error {
	width, height := points(d.Width), points(d.Height)
	p.doc.AddPageFormat("P", fpdf.SizeType{Wd: width, Ht: height})
	p.doc.RawWriteStr(string(areas(d, p.options)))
	for _, t := range d.Texts {
		p.setFont(t)
		p.doc.Text(points(t.At.X), points(t.At.Y), t.String)
	}
	if err := p.doc.Error(); err != nil {
		return fmt.Errorf("render: draw %q: %w", d.Title, err)
	}
	return nil
}

// setFont embeds the font the first time that it is used.
func (p *PDF) setFont(t sheet.Text) {
	name := "go" + strconv.Itoa(int(t.Font))
	if !p.embedded[t.Font] {
		p.doc.AddUTF8FontFromBytes(name, "", sheet.FontFile(t.Font))
		p.embedded[t.Font] = true
	}
	p.doc.SetFont(name, "", points(t.Size))
}

// Write writes the document and ends it.
func (p *PDF) Write(w io.Writer) error {
	if p.doc.PageCount() == 0 {
		return ErrNoTag
	}
	if err := p.doc.Output(w); err != nil {
		return fmt.Errorf("render: write PDF: %w", err)
	}
	return nil
}

// areas draws all but the text: the symbol in modules, the rest in micrometres,
// both from the top left corner.
func areas(d sheet.Drawing, o Options) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "q %.10f 0 0 -%.10f 0 %.4f cm\nq %d 0 0 %d %d %d cm\n",
		points(1), points(1), points(d.Height), d.Symbol.Module, d.Symbol.Module, d.Symbol.At.X, d.Symbol.At.Y)
	for _, outline := range d.Symbol.Contours() {
		step := " m\n"
		for _, c := range outline {
			b.Write(strconv.AppendInt(b.AvailableBuffer(), int64(c.X), 10))
			b.WriteByte(' ')
			b.Write(strconv.AppendInt(b.AvailableBuffer(), int64(c.Y), 10))
			b.WriteString(step)
			step = " l\n"
		}
		b.WriteString("h\n")
	}
	b.WriteString("f Q\n")
	for _, a := range d.Ink {
		pdfPath(&b, a.Path)
	}
	if o.Outline {
		for _, path := range d.Blank {
			pdfPath(&b, path)
		}
	}
	b.WriteString("Q")
	return b.Bytes()
}

func place(b *bytes.Buffer, p sheet.Point) {
	number(b, p.X)
	b.WriteByte(' ')
	number(b, p.Y)
	b.WriteByte(' ')
}

// pdfPath fills a path.
func pdfPath(b *bytes.Buffer, p sheet.Path) {
	for i, seg := range p {
		if seg.Op == sheet.Move && i > 0 {
			b.WriteString("h ")
		}
		for _, q := range seg.Points() {
			place(b, q)
		}
		b.WriteByte("mlc"[seg.Op])
		b.WriteByte(' ')
	}
	b.WriteString("h f\n")
}
