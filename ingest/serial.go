package ingest

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// rawNumber is a number as a workbook writes it.
var rawNumber = regexp.MustCompile(`^([+-]?)([0-9]*)(?:\.([0-9]*))?(?:[eE]([+-]?[0-9]{1,3}))?$`)

// typedDigits is how many digits of a number a sheet keeps of what is typed: what a binary
// number shows beyond them is a trace of its own making.
const typedDigits = 15

// mostPlainDigits bounds the digits of a plain decimal; no column holds half as many.
const mostPlainDigits = 40

// plainDecimal turns a number of a workbook, such as 12.30, 1.2E-3 or
// 0.10000000000000001, into the plain decimal that was typed: 12.3, 0.0012, 0.1. A whole
// number that is written out keeps every digit. It also returns the number itself. ok is
// false for what is no number, or one that is out of all proportion.
func plainDecimal(raw string) (plain string, value float64, ok bool) {
	match := rawNumber.FindStringSubmatch(raw)
	if match == nil || match[2]+match[3] == "" {
		return "", 0, false
	}
	value, err := strconv.ParseFloat(raw, 64)
	if err != nil {
		return "", 0, false
	}
	sign, digits, point := match[1], match[2]+match[3], len(match[2])
	if match[4] != "" {
		exponent, _ := strconv.Atoi(match[4])
		point += exponent
	}
	trimmed := strings.TrimLeft(digits, "0")
	point -= len(digits) - len(trimmed)
	digits = strings.TrimRight(trimmed, "0")
	written := match[3] == "" && match[4] == ""
	if len(digits) > typedDigits && !written {
		// The nearest decimal of so many digits, as d.ddddE±dd.
		rounded := strconv.FormatFloat(math.Abs(value), 'e', typedDigits-1, 64)
		mantissa, exponent, _ := strings.Cut(rounded, "e")
		digits = strings.TrimRight(strings.Replace(mantissa, ".", "", 1), "0")
		point, _ = strconv.Atoi(exponent)
		point++
	}
	if digits == "" {
		return "0", 0, true
	}
	if point > mostPlainDigits || point < -mostPlainDigits || len(digits) > mostPlainDigits {
		return "", 0, false
	}
	if sign == "+" {
		sign = ""
	}
	return sign + placePoint(digits, point), value, true
}

// placePoint writes digits with the decimal point after so many of them.
func placePoint(digits string, point int) string {
	switch {
	case point <= 0:
		return "0." + strings.Repeat("0", -point) + digits
	case point >= len(digits):
		return digits + strings.Repeat("0", point-len(digits))
	default:
		return digits[:point] + "." + digits[point:]
	}
}

// What a serial date may be off a whole second, for the traces of its binary form: one
// thousandth of a second, in microseconds.
const secondTolerance = 1000

// firstSerialDay is the first day of a serial date that is taken for one; below, it is a
// number or a time of day, and no date of a plant.
const firstSerialDay = 367

// serialText turns a serial date, in days since epoch, into 2026-08-24 where it is a whole
// day, else into 2026-08-24 06:10:00, with thousandths where it is no whole second. With
// midnight a whole day is 2026-08-24 00:00:00. A fraction of a day alone is a time of day
// such as 06:10:00. ok is false for what is neither.
func serialText(serial float64, epoch time.Time, midnight bool) (text string, ok bool) {
	if serial < 0 || serial >= 3_000_000 {
		return "", false
	}
	days := math.Floor(serial)
	micros := microsOf(serial - days)
	if days == 0 && micros > 0 && micros < 86_400e6 {
		return clockText(micros), true
	}
	if days < firstSerialDay {
		return "", false
	}
	day := epoch.AddDate(0, 0, int(days)).Add(time.Duration(micros) * time.Microsecond)
	if day.Year() > 9999 {
		return "", false
	}
	text = day.Format(time.DateOnly)
	micros %= 86_400e6
	if micros > 0 || midnight {
		text += " " + clockText(micros)
	}
	return text, true
}

// hoursText writes a span of days of 0 or more, as a sheet shows it, in hours: 30:00:00.
func hoursText(days float64) string {
	return clockText(microsOf(min(days, 3_000_000)))
}

// microsOf turns days into microseconds, and into whole seconds where they are as near.
func microsOf(days float64) int64 {
	micros := int64(math.Round(days * 86_400e6))
	if off := micros % 1_000_000; off <= secondTolerance {
		micros -= off
	} else if 1_000_000-off <= secondTolerance {
		micros += 1_000_000 - off
	}
	return micros
}

// clockText writes microseconds since midnight as 06:10:00, with thousandths where they
// are no whole second.
func clockText(micros int64) string {
	seconds := micros / 1_000_000
	text := fmt.Sprintf("%02d:%02d:%02d", seconds/3600, seconds/60%60, seconds%60)
	if off := micros % 1_000_000; off > 0 {
		text += fmt.Sprintf(".%03d", off/1000)
	}
	return text
}
