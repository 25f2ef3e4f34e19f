package command

import (
	"errors"
	"io/fs"
	"syscall"

	"cribgate/labeler/bulk"
	"cribgate/labeler/card"
	"cribgate/labeler/draft"
	"cribgate/labeler/print"
	"cribgate/labeler/printer"
	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
	"cribgate/store"
	"cribgate/store/keyring"
)

// hints say what to do about an error; the first that fits is shown.
var hints = []struct {
	err  error
	hint string
}{
	{bulk.ErrDone, "name a directory that is not there yet"},
	{bulk.ErrNotEmpty, "name a directory that is not there yet"},
	{bulk.ErrNoRun, "nothing was recorded there; labeler bulk --out begins a run"},
	{bulk.ErrList, "nothing was printed; a list has one identification a line"},
	{bulk.ErrOther, "--register names the register that the run was begun with, where it has moved"},
	{errRecorded, "mend the cause and run the same command again: it prints the tags after these, which lapse"},
	{errNotedUnknown, "look at the printer, which may still print: a tag that came out whole is confirmed at the counter; the others are thrown away on the kiosk's print queue page, or printed anew by the same command: it prints the tags after these, which lapse"},
	{errNoted, "the kiosk's print queue page lists tags that nobody has confirmed: throw these away there, or run the same command again: it prints the tags after these, which lapse"},
	{printer.ErrCertificate, "--printer-ca FILE names the authority that vouches for the printer, under the very host of the URL"},
	{printer.ErrFormat, "this program makes PDF and PNG: take a printer that takes one of them"},
	{printer.ErrDocument, "a printer gets a PDF or a PNG: labeler print --out makes one"},
	{printer.ErrUnknown, "look at the printer, and clear its queue before you send again: it may still print"},
	{printer.ErrNotPrinted, "mend the cause and run the same command again"},
	{printtemplates.ErrUnknown, "labeler templates lists the stocks; a file of your own is given as ./NAME.json"},
	{keyring.ErrExists, "a key is never written over: tags made with it could no longer be told from forged ones; choose another name"},
	{keyring.ErrNoKey, "labeler key --out FILE makes a key; a register's keys lie in the folder keys beside it"},
	{card.ErrNoRoom, "choose a larger --paper: a3 or ledger"},
	{card.ErrOneLine, "take the sling's own line out of the file, with id and outcome"},
	{errPoor, "do what is advised, and print the tag or take the picture again"},
	{errClock, "set the clock of this machine; where it is right, keeper and inspector confirm it at the kiosk"},
	{print.ErrFormat, "name the output out.pdf, out.svg, out.png or out.dxf"},
	{print.ErrChanged, "somebody worked on that record meanwhile; run the same command again"},
	{print.ErrNotHere, "spell the name as the kiosk's people page has it; who left, or whose last day is over, is taken on again there"},
	{print.ErrBadgeSerials, "enter the person anew on the kiosk's people page"},
	{print.ErrGone, "a sling that was found again is entered as found at the counter first"},
	{print.ErrNamed, "nothing was printed; one tag or badge at a time"},
	{print.ErrStays, "nothing was printed; take another sling, or change what is asked of it"},
	{print.ErrTwice, "a serial is never used twice: number anew"},
	{render.ErrDPI, "choose another --dpi: 203, 300 and 600 are usual"},
	{sheet.ErrKind, "labeler templates says what each stock is for"},
	{sheet.ErrYear, "the marks begin with the year of the inspection; take a stock with more years, or one without marks"},
	{sheet.ErrGlyph, "spell it with letters that the fonts have"},
	{sheet.ErrContrast, "take another colour of the period, or black letters there"},
	{sheet.ErrPaper, "cells are counted from the top left, row by row; labeler templates says how many a sheet has"},
	{sheet.ErrFit, "shorten the text or take a larger stock"},
	{sheet.ErrModule, "the stock's own file does not hold together; see printtemplates/README.md"},
	{sheet.ErrOverlap, "the stock's own file does not hold together; see printtemplates/README.md"},
	{sheet.ErrEdge, "the stock's own file does not hold together; see printtemplates/README.md"},
	{draft.ErrDirectory, "name another file"},
	{store.ErrNotFound, "spell the identification as the sling bears it; the kiosk's rack lists all"},
	{syscall.ENOSPC, "make room on the disk, or write to another one"},
	{fs.ErrPermission, "look who may write and read there"},
	{store.ErrNotInitialised, "kiosk init makes a register; --register takes its directory"},
}

// hintFor gives the hint for an error, or nothing.
func hintFor(err error) string {
	var stopped *stoppedError
	if errors.As(err, &stopped) && !errors.Is(err, bulk.ErrOther) {
		return "mend the cause and go on: labeler bulk --resume " + stopped.dir
	}
	for _, h := range hints {
		if errors.Is(err, h.err) {
			return h.hint
		}
	}
	var run *bulk.RunError
	var line *print.LineError
	var refused *card.RefusedError
	switch {
	case errors.As(err, &refused):
		return "settle what stands against the sling first; nothing was written"
	case errors.As(err, &run): // unfinished; the others are above
		return "go on with it: labeler bulk --resume " + run.Dir
	case errors.As(err, &line):
		return "nothing was printed; labeler help print says what a line is"
	}
	return ""
}
