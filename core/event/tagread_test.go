package event

import "testing"

// UEC = 1 − 2t/d, the worst block counts (ISO/IEC 15415, from memory, not seen).
func TestLeft(t *testing.T) {
	for _, c := range []struct {
		blocks []ReadBlock
		left   int
	}{
		{nil, 0}, {[]ReadBlock{{0, 22}}, 100}, {[]ReadBlock{{6, 22}}, 45}, {[]ReadBlock{{7, 22}}, 36}, {[]ReadBlock{{11, 22}}, 0},
		{[]ReadBlock{{12, 22}}, 0}, {[]ReadBlock{{1, 0}}, 0}, {[]ReadBlock{{0, 18}, {5, 18}, {6, 18}, {1, 18}}, 33},
	} {
		if got := (TagRead{Blocks: c.blocks}).Left(); got != c.left {
			t.Errorf("%v leaves %d %%, want %d", c.blocks, got, c.left)
		}
	}
}
