package event

import (
	"bytes"
	"reflect"
	"testing"
)

// One decoder reads every kind as a new one does, bad bodies between them, and
// what it read before does not change.
func TestDecoderAgain(t *testing.T) {
	var d Decoder
	var kept []Body
	list := samples(t)
	for range 3 {
		for _, s := range list {
			text := []byte(s.text)
			kind, schema := s.body.Kind(), SchemaOf(s.body)
			got, err := d.Decode(kind, schema, bytes.Clone(text))
			if err != nil || !reflect.DeepEqual(got, s.body) {
				t.Fatalf("%s: %+v, %v", kind, got, err)
			}
			kept = append(kept, got)
			for _, bad := range [][]byte{text[:len(text)-1], append([]byte(" "), text...), append(bytes.Clone(text), '}'), bytes.Replace(text, []byte(":"), []byte(": "), 1), {}} {
				if b, err := d.Decode(kind, schema, bad); err == nil || b != nil {
					t.Fatalf("%s: %q: %+v, %v", kind, bad, b, err)
				}
			}
		}
	}
	for i, b := range kept {
		if want := list[i%len(list)].body; !reflect.DeepEqual(b, want) {
			t.Errorf("%s has become %+v", want.Kind(), b)
		}
	}
}
