package symbol

// Blocks is how many blocks the codewords of a symbol are dealt out to. Each is
// mended by itself, so damage counts by the block that has the most of it.
const Blocks = 4

// A Block is one block of a symbol's codewords: data, then correction. The zero
// Block has none.
type Block struct {
	Data       int // codewords of data
	Correction int // codewords of correction: half as many wrong ones are mended
}

// Blocks returns the blocks of a symbol at that level (block tables of an open
// encoder: level Q 2 × (33, 15) and 2 × (34, 16), level H 2 × (33, 11) and
// 2 × (34, 12), codewords and data of each). Any other level has none.
func (l Level) Blocks() [Blocks]Block {
	switch l {
	case LevelQ:
		return [Blocks]Block{{15, 18}, {15, 18}, {16, 18}, {16, 18}}
	case LevelH:
		return [Blocks]Block{{11, 22}, {11, 22}, {12, 22}, {12, 22}}
	}
	return [Blocks]Block{}
}

// BlockOf says which block, from 0, a codeword as drawn belongs to, and its place
// there. Codewords are dealt out like cards: the first data word of each block,
// the second of each, and so on; then the correction words likewise. It fails for a
// codeword that is not there and for any other level than the two.
func (l Level) BlockOf(word int) (block, at int, ok bool) {
	blocks := l.Blocks()
	data := 0
	for _, b := range blocks {
		data += b.Data
	}
	switch short := blocks[0].Data; {
	case word < 0 || word >= Codewords || data == 0:
		return 0, 0, false
	case word < short*Blocks:
		return word % Blocks, word / Blocks, true
	case word < data: // the longer blocks, the last ones, have one word more
		return word - short*Blocks + Blocks - (data - short*Blocks), short, true
	default:
		block = (word - data) % Blocks
		return block, blocks[block].Data + (word-data)/Blocks, true
	}
}

// Words gathers a grid's codewords, by block and place in it, as its modules read
// under a level and mask. What dark says of modules outside the data is not asked.
func Words(dark func(column, row int) bool, level Level, mask int) [Blocks][]byte {
	var words [Blocks][]byte
	for i, b := range level.Blocks() {
		words[i] = make([]byte, b.Data+b.Correction)
	}
	for row := range Modules {
		for column := range Modules {
			place, ok := CodewordOf(column, row)
			if !ok {
				continue
			}
			block, at, ok := level.BlockOf(place.Word)
			if ok && dark(column, row) != Masked(mask, column, row) {
				words[block][at] |= 1 << place.Bit
			}
		}
	}
	return words
}
