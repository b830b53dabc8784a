package page

import (
	"fmt"
	"math"
	"strconv"
	"testing"
)

// luminance is the relative luminance of WCAG 2.2.
func luminance(t *testing.T, digits string) float64 {
	t.Helper()
	rgb, err := strconv.ParseUint(digits, 16, 24)
	if err != nil || len(digits) != 6 {
		t.Fatalf("not a colour: %q", digits)
	}
	total := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		part := float64(rgb>>(16-8*i)&0xFF) / 255
		if part <= 0.04045 {
			part /= 12.92
		} else {
			part = math.Pow((part+0.055)/1.055, 2.4)
		}
		total += weight * part
	}
	return total
}

func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// TestContrast works out every pair that the style sheet puts on one another, in both schemes:
// text 4.5 to 1 at least, and lines that carry meaning 3 to 1 (WCAG 2.2, 1.4.3 and 1.4.11).
func TestContrast(t *testing.T) {
	if got := contrast(t, "FFFFFF", "000000"); math.Abs(got-21) > 1e-9 {
		t.Fatalf("black on white is %v to 1", got)
	}
	pairs := 0
	for name, s := range map[string]scheme{"light": light(), "dark": dark()} {
		digits := map[string]string{}
		for _, c := range s {
			digits[c.name] = c.digits
		}
		hold := func(front, ground string, least float64) {
			pairs++
			if digits[front] == "" || digits[ground] == "" {
				t.Fatalf("%s: no colour %s or %s", name, front, ground)
			}
			if got := contrast(t, digits[front], digits[ground]); got < least {
				t.Errorf("%s: %s on %s is %.2f to 1, less than %v", name, front, ground, got, least)
			}
		}
		for _, ground := range []string{"ground", "panel", "heading"} {
			for _, text := range []string{"ink", "quiet", "warning", "link"} {
				hold(text, ground, 4.5)
			}
		}
		hold("on-alarm", "alarm", 4.5)
		for _, mark := range []string{"line1", "line2", "ink", "warning", "rule"} {
			hold(mark, "panel", 3)
			hold(mark, "ground", 3)
		}
		for i := 1; i <= 6; i++ {
			hold(fmt.Sprintf("on%d", i), fmt.Sprintf("fill%d", i), 4.5)
		}
		// A fill may be close to the panel: its outline is ink.
		if len(digits) != len(s) {
			t.Errorf("%s names a colour twice", name)
		}
	}
	if pairs != 2*(12+1+10+6) {
		t.Errorf("%d pairs held", pairs)
	}
	lightNames, darkNames := light(), dark()
	for i := range lightNames {
		if lightNames[i].name != darkNames[i].name {
			t.Errorf("the schemes name %s and %s", lightNames[i].name, darkNames[i].name)
		}
	}
}
