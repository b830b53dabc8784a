package formulas

import "testing"

func TestMark(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", ""}, {"J1001", "J1001"}, {"a=b", "a=b"}, {"12'6", "12'6"}, {"'tis", "'tis"},
		{`=HYPERLINK("http://x")`, `'=HYPERLINK("http://x")`}, {"+1+1", "'+1+1"}, {"@SUM(A1)", "'@SUM(A1)"},
		{"-2+3+cmd|' /C calc'!A0", "'-2+3+cmd|' /C calc'!A0"}, {"\t=1", "'\t=1"}, {"\r=1", "'\r=1"}, {"\n=1", "'\n=1"}, {"＝1", "'＝1"},
		{"-5", "-5"}, {"+1,234.50", "+1,234.50"}, {"-", "'-"}, {"-5x", "'-5x"},
		{"'=1", "''=1"}, {"''", "'''"}, {"'-5", "''-5"}, {"'", "'"},
	} {
		if got := Mark(c.text); got != c.want {
			t.Errorf("Mark(%q) = %q, want %q", c.text, got, c.want)
		}
	}
}

// FuzzMark: a marked text is no formula and is given back by Unmark.
func FuzzMark(f *testing.F) {
	for _, text := range []string{"=1", "'=1", "''", "-5", "-5+1", "＋1", "\xff"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		marked := Mark(text)
		if begins(marked) && !plainNumber.MatchString(marked) {
			t.Errorf("%q is marked as %q, which begins a formula", text, marked)
		}
		if got := Unmark(marked); got != text {
			t.Errorf("%q is marked as %q, which is unmarked as %q", text, marked, got)
		}
	})
}
