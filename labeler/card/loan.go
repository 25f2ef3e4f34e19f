package card

import (
	"fmt"
	"strconv"

	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/core/trade"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// A Loan is a slip for everything that one rigger was handed at one time: what each
// sling is, what it may carry and for which lift. Its texts are the caller's, whose
// figures come from the gate; nothing is worked out here. The zero Loan has no lines
// and is not drawn.
type Loan struct {
	Words trade.List // in which the caution is said; the texts below are in them already
	Title string     // "Slip for R. Rigger"
	Under string     // when, by whom, in which crib
	Lines []LoanLine
	Foot  string // where the register stood, in words

	Head tagcode.Head // the same as a symbol at the foot of each page; zero: none is drawn
}

// A LoanLine is one sling of a loan.
type LoanLine struct {
	Ident  string
	MakeUp string // size, grade, legs, reach
	May    string // what it may carry as it is rigged, or its capacities
	Lift   string // how it is rigged, with what the angle is measured from
	Back   string // by when it is needed back
	Notes  string // what is to be minded with just this sling; empty for nothing
}

// loanCaution stands on every slip.
const loanCaution = "What a sling may carry holds for the lift as it is written here: another angle, hitch or load is another lift, to be asked at the counter. " +
	"Look at the sling before each use. The rating tag on the sling governs. This slip supports, and never replaces, the competent person, the maker's instructions and the local law."

// A slip's page, upright, and the room of its parts.
const (
	slipMargin = 12 * mm
	slipHead   = 30 * mm
	slipFoot   = 26 * mm
	slipLine   = 29 * mm
)

// headModule is the side of a module of the head's symbol, no less than 0.4 mm (site
// policy of this program, no source).
const headModule = 480 * quantity.Micrometre

// headSide is the symbol's width with its quiet zone.
const headSide = (symbol.Modules + 2*symbol.QuietZone) * headModule

// Draw lays the slip out on upright sheets of a paper, as many as it needs. It
// fails with one of package sheet's errors where a text does not fit.
func (l Loan) Draw(p Paper) ([]sheet.Drawing, error) {
	width, height := min(p.Width, p.Height), max(p.Width, p.Height)
	each := int((height - 2*slipMargin - slipHead - slipFoot) / slipLine)
	pages := (len(l.Lines) + each - 1) / each
	var list []sheet.Drawing
	for n := range pages {
		lines := l.Lines[n*each : min((n+1)*each, len(l.Lines))]
		d, err := l.page(width, height, lines, n+1, pages)
		if err != nil {
			return nil, fmt.Errorf("card: draw %s: %w", l.Title, err)
		}
		list = append(list, d)
	}
	return list, nil
}

func (l Loan) page(width, height quantity.Length, lines []LoanLine, n, of int) (sheet.Drawing, error) {
	b := sheet.NewBuilder(l.Title+", page "+strconv.Itoa(n), width, height, slipMargin-2*mm)
	left, right := slipMargin, width-slipMargin
	b.Label(sheet.Label{String: l.Title, Font: printtemplates.Bold, Size: 7 * mm, Smallest: 3 * mm, At: pt(left, slipMargin+8*mm), Room: right - left - 30*mm})
	b.Label(sheet.Label{String: "Page " + strconv.Itoa(n) + " of " + strconv.Itoa(of), Size: 3 * mm, Smallest: smallest, At: pt(right, slipMargin+8*mm), Align: printtemplates.Right, Room: 28 * mm})
	b.Paragraph(sheet.Paragraph{String: l.Under, Size: 3400, Smallest: smallest, Box: box(left, slipMargin+11*mm, right, slipMargin+slipHead-2*mm)})
	y := slipMargin + slipHead
	for _, line := range lines {
		line.draw(b, left, right, y)
		y += slipLine
	}
	b.Rule(box(left, y, right, y+rule))
	y = height - slipMargin - slipFoot + 4*mm
	if l.Head != (tagcode.Head{}) {
		right -= headSide + mm
		drawHead(b, l.Head, pt(right+mm, y))
	}
	y += b.Paragraph(sheet.Paragraph{String: l.Words.Say(loanCaution), Size: 2800, Smallest: smallest, Box: box(left, y, right, y+16*mm)}) + mm
	b.Paragraph(sheet.Paragraph{String: l.Foot, Font: printtemplates.Bold, Size: 2800, Smallest: smallest, Box: box(left, y, right, height-slipMargin)})
	return b.Drawing()
}

// drawHead draws where the register stood, its quiet zone from a corner on.
func drawHead(b *sheet.Builder, head tagcode.Head, corner sheet.Point) {
	text, err := head.Text()
	if err != nil {
		b.Fail(err)
		return
	}
	s, err := symbol.Encode(text)
	if err != nil {
		b.Fail(err)
		return
	}
	grid := pt(corner.X+symbol.QuietZone*headModule, corner.Y+symbol.QuietZone*headModule)
	b.Figure("the head's symbol", box(corner.X, corner.Y, corner.X+headSide, corner.Y+headSide), sheet.Modules(s, grid, headModule))
}

func (l LoanLine) draw(b *sheet.Builder, left, right, y quantity.Length) {
	middle := left + (right-left)*3/8
	b.Rule(box(left, y, right, y+rule))
	b.Label(sheet.Label{String: l.Ident, Font: printtemplates.Bold, Size: 6 * mm, Smallest: 3 * mm, At: pt(left, y+8*mm), Room: middle - left - 2*mm})
	b.Paragraph(sheet.Paragraph{String: l.MakeUp, Size: 3200, Smallest: smallest, Box: box(left, y+9500, middle-2*mm, y+18*mm)})
	b.Paragraph(sheet.Paragraph{String: l.Back, Font: printtemplates.Bold, Size: 3200, Smallest: smallest, Box: box(left, y+19*mm, middle-2*mm, y+slipLine-mm)})
	at := y + 2*mm
	at += b.Paragraph(sheet.Paragraph{String: l.May, Font: printtemplates.Bold, Size: 4 * mm, Smallest: smallest, Box: box(middle, at, right, at+9500)}) + 500
	at += b.Paragraph(sheet.Paragraph{String: l.Lift, Size: 3 * mm, Smallest: smallest, Box: box(middle, at, right, min(at+9*mm, y+slipLine-7*mm))}) + 500
	b.Paragraph(sheet.Paragraph{String: l.Notes, Size: 2800, Smallest: smallest, Box: box(middle, at, right, y+slipLine-500)})
}
