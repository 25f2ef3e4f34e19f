package event

import (
	"cribgate/core/strict"
	"cribgate/core/tagcode"
)

// TagRead records how much of a tag's error correction a reading took. It is written
// where that is news: a tag that is read every day as before leaves no trace.
type TagRead struct {
	Serial    tagcode.Serial
	Blocks    []ReadBlock // of the symbol, in their order; at least one
	Resembled bool        // it could not be read, and was told by comparing it with what is known
}

// A ReadBlock is one block of a symbol: its codewords are mended by themselves.
type ReadBlock struct {
	Wrong      int // codewords that were seen otherwise than printed
	Correction int // codewords of correction; half as many wrong ones are mended
}

// Left is the share of the correction that is not used, in whole per cent rounded
// down, 0 where more is wrong than can be mended: 1 − 2t/d of ISO/IEC 15415 (from
// memory, not seen; its erasures are counted as wrong here, so that it is never too
// high).
func (b ReadBlock) Left() int {
	if b.Correction < 1 {
		return 0
	}
	return max(0, 100*(b.Correction-2*b.Wrong)/b.Correction)
}

// Left is that of the block with the least left, which is mended or not for all. It
// is 0 where there is no block.
func (t TagRead) Left() int {
	left := 100
	for _, b := range t.Blocks {
		left = min(left, b.Left())
	}
	if len(t.Blocks) == 0 {
		return 0
	}
	return left
}

// Kind is KindTagRead.
func (TagRead) Kind() Kind { return KindTagRead }

// The most blocks and the longest correction that a symbol has (ISO/IEC 18004,
// version 40, from memory, not seen).
const mostBlocks, mostCorrection = 81, 30

func readTagRead(o *strict.Object) TagRead {
	t := TagRead{Serial: readSerial(o)}
	for _, b := range o.Objs("blocks") {
		t.Blocks = append(t.Blocks, ReadBlock{Wrong: int(b.Int("wrong", 0, 255)), Correction: int(b.Int("correction", 1, mostCorrection))})
	}
	if len(t.Blocks) < 1 || len(t.Blocks) > mostBlocks {
		o.Fail("blocks", "not 1 to %d", mostBlocks)
	}
	t.Resembled = o.Bool("resembled")
	return t
}

func (t TagRead) write(w *strict.Writer) {
	w.Int("serial", int64(t.Serial))
	w.List("blocks")
	for _, b := range t.Blocks {
		w.Begin()
		w.Int("wrong", int64(b.Wrong))
		w.Int("correction", int64(b.Correction))
		w.End()
	}
	w.End()
	w.Bool("resembled", t.Resembled)
}
