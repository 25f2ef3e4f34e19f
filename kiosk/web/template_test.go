package web

import (
	"bytes"
	"fmt"
	"iter"
	"reflect"
	"testing"

	"cribgate/core/trade"
)

// TestTemplates draws every page from its zero value, and from one in which
// every field is set, so that a name that a template misspells is found without
// a handler.
func TestTemplates(t *testing.T) {
	parsed, err := parsedTemplates()
	if err != nil {
		t.Fatal(err)
	}
	for list, name := range everyPage(parsed) {
		zero, page := pages[name], parsed[list][name]
		full := reflect.New(reflect.TypeOf(zero).Elem())
		fill(full.Elem(), 0)
		for kind, p := range map[string]any{"zero": zero, "full": full.Interface()} {
			var out bytes.Buffer
			if err := page.ExecuteTemplate(&out, "base", p); err != nil {
				t.Errorf("%s page %s: %v", kind, name, err)
			}
			if bytes.Contains(out.Bytes(), []byte("ZgotmplZ")) || bytes.Contains(out.Bytes(), []byte("<no value>")) {
				t.Errorf("%s page %s: a value cannot stand where it does", kind, name)
			}
		}
	}
}

// everyPage yields each page in each list of words.
func everyPage(parsed templates) iter.Seq2[trade.List, string] {
	return func(yield func(trade.List, string) bool) {
		for list, of := range parsed {
			for name := range of {
				if !yield(list, name) {
					return
				}
			}
		}
	}
}

// What a template says by itself is put into the crib's words, what its tags and
// actions say to the machine is not.
func TestSpoken(t *testing.T) {
	const source = `<p class="rated load" aria-label="The rated load" title="{{.Of}} rating tag">Its rated load{{if .A}}: rated load {{.RatedLoad}}{{end}}, <input name="rated load" {{if gt .N 2}}value="rated load"{{end}}> retired</p>`
	const want = `<p class="rated load" aria-label="The WLL" title="{{.Of}} rating tag">Its WLL{{if .A}}: WLL {{.RatedLoad}}{{end}}, <input name="rated load" {{if gt .N 2}}value="rated load"{{end}}> scrapped</p>`
	if got := spoken(source, trade.UK); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if got := spoken(source, trade.US); got != source {
		t.Errorf("in the US: %s", got)
	}
}

// fill sets every field that it can reach to something that is not zero.
func fill(v reflect.Value, depth int) {
	if depth > 8 || !v.CanSet() {
		return
	}
	switch v.Kind() {
	case reflect.String:
		if v.Type() == reflect.TypeFor[Verdict]() {
			v.SetString(string(StaysHere))
			return
		}
		v.SetString(fmt.Sprintf("text %d", depth))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int64, reflect.Int32, reflect.Int16, reflect.Int8:
		v.SetInt(7)
	case reflect.Uint, reflect.Uint64, reflect.Uint32, reflect.Uint16, reflect.Uint8:
		v.SetUint(7)
	case reflect.Float64, reflect.Float32:
		v.SetFloat(7.5)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		for i := range 2 {
			fill(v.Index(i), depth+1)
		}
	case reflect.Array:
		for i := range v.Len() {
			fill(v.Index(i), depth+1)
		}
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem(), depth+1)
	case reflect.Struct:
		for i := range v.NumField() {
			fill(v.Field(i), depth+1)
		}
	}
}
