package webtest

import "encoding/json"

// quote writes text as a JavaScript literal.
func quote(text string) string {
	out, err := json.Marshal(text)
	if err != nil {
		return `""` // text always marshals
	}
	return string(out)
}
