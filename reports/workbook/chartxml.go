package workbook

import (
	"encoding/xml"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Ids by which the two axes of a chart refer to each other.
const (
	categoryAxis = 1
	valueAxis    = 2
)

// look is how one series is drawn. The fills differ in lightness as well as in hue, the
// lines in dashes and marks, for black-and-white print and for readers who do not tell the
// hues apart.
type look struct {
	fill, line, dash, mark string
}

// looks has one for each of mostSeries.
func looks() []look {
	return []look{
		{fill: "1F3A5F", line: "1F3A5F", dash: "solid", mark: "circle"},
		{fill: "E0A04A", line: "B0670F", dash: "dash", mark: "square"},
		{fill: "B9D3E6", line: "4F86AD", dash: "sysDot", mark: "triangle"},
		{fill: "5E7F92", line: "6B3A2E", dash: "dashDot", mark: "diamond"},
		{fill: "F3E6C0", line: "5A6570", dash: "lgDash", mark: "x"},
		{fill: "7C3F31", line: "8C8060", dash: "sysDash", mark: "plus"},
	}
}

const (
	chartInk  = "1F2933"
	gridInk   = "D5DBE1"
	chartHead = `<c:chartSpace xmlns:c="http://schemas.openxmlformats.org/drawingml/2006/chart"` +
		` xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main"` +
		` xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships">`
)

// chartXML is the chart's part of the file. Elements stand in the order of the format's
// schema, which spreadsheet programs insist on.
func chartXML(d drawing) []byte {
	var x strings.Builder
	x.WriteString(xml.Header + chartHead)
	x.WriteString(`<c:date1904 val="0"/><c:roundedCorners val="0"/><c:chart>`)
	x.WriteString(headingXML(d.Title, d.finding))
	x.WriteString(`<c:autoTitleDeleted val="0"/><c:plotArea><c:layout/>`)
	switch d.Kind {
	case kindLine, kindLineLimits:
		x.WriteString(lineChartXML(d))
	case kindScatter, kindFunnel:
		x.WriteString(scatterChartXML(d))
	default:
		x.WriteString(barChartXML(d))
	}
	x.WriteString(`</c:plotArea>`)
	if len(d.series) > 1 {
		x.WriteString(`<c:legend><c:legendPos val="b"/>`)
		if d.Kind == kindWaterfall {
			x.WriteString(`<c:legendEntry><c:idx val="0"/><c:delete val="1"/></c:legendEntry>`)
		}
		x.WriteString(`<c:overlay val="0"/>` + textXML(900) + `</c:legend>`)
	}
	// Rows that a filter hides are not drawn, and a blank is a gap, never zero.
	x.WriteString(`<c:plotVisOnly val="1"/><c:dispBlanksAs val="gap"/></c:chart>`)
	x.WriteString(`<c:spPr><a:solidFill><a:srgbClr val="FFFFFF"/></a:solidFill>` + outlineXML(gridInk, 9525, "") + `</c:spPr>`)
	x.WriteString(textXML(900))
	x.WriteString(`</c:chartSpace>`)
	return []byte(x.String())
}

func barChartXML(d drawing) string {
	grouping, overlap := "clustered", ""
	if d.Kind == kindBarStacked || d.Kind == kindWaterfall {
		grouping, overlap = "stacked", `<c:overlap val="100"/>`
	}
	var x strings.Builder
	fmt.Fprintf(&x, `<c:barChart><c:barDir val="bar"/><c:grouping val="%s"/><c:varyColors val="0"/>`, grouping)
	for i := range d.series {
		fill := looks()[i].fill
		x.WriteString(seriesHeadXML(d, i))
		if d.Kind == kindWaterfall && i == 0 { // what the visible bars stand on
			x.WriteString(`<c:spPr><a:noFill/><a:ln><a:noFill/></a:ln></c:spPr>`)
		} else {
			x.WriteString(`<c:spPr><a:solidFill><a:srgbClr val="` + fill + `"/></a:solidFill>` + outlineXML(chartInk, 6350, "") + `</c:spPr>`)
		}
		x.WriteString(`<c:invertIfNegative val="0"/>`)
		x.WriteString(`<c:cat>` + categoryXML(d) + `</c:cat><c:val>` + valuesXML(d, i) + `</c:val></c:ser>`)
	}
	fmt.Fprintf(&x, `<c:gapWidth val="50"/>%s<c:axId val="%d"/><c:axId val="%d"/></c:barChart>`, overlap, categoryAxis, valueAxis)
	low, high := d.extent()
	bounds := ""
	if high <= 0 && low < 0 {
		bounds = `<c:max val="0"/>`
	}
	if low >= 0 {
		bounds = `<c:min val="0"/>`
	}
	// The first row is the top bar, and the scale stands below the last.
	x.WriteString(categoryAxisXML(d, "maxMin", "l"))
	x.WriteString(axisXML("valAx", axis{
		id: valueAxis, crossing: categoryAxis, labels: "nextTo", bounds: bounds, orientation: "minMax", position: "b", grid: true,
		title: titleXML(d.ValueAxisTitle, 900, false, false), code: axisCode(d.series[0].format, low, high),
		crosses: "max", tail: `<c:crossBetween val="between"/>`,
	}))
	return x.String()
}

func lineChartXML(d drawing) string {
	var x strings.Builder
	x.WriteString(`<c:lineChart><c:grouping val="standard"/><c:varyColors val="0"/>`)
	for i := range d.series {
		style := looks()[i]
		x.WriteString(seriesHeadXML(d, i))
		switch {
		case d.Kind == kindLineLimits && i == 1:
			x.WriteString(noLineXML + largeMarkerXML(style))
		case d.Kind == kindLineLimits && i > 1:
			x.WriteString(`<c:spPr>` + outlineXML(style.line, 15875, style.dash) + `</c:spPr>` + noMarkerXML)
		default:
			x.WriteString(`<c:spPr>` + outlineXML(style.line, 22225, style.dash) + `</c:spPr>` + markerXML(style))
		}
		x.WriteString(`<c:cat>` + categoryXML(d) + `</c:cat><c:val>` + valuesXML(d, i) + `</c:val><c:smooth val="0"/></c:ser>`)
	}
	fmt.Fprintf(&x, `<c:marker val="1"/><c:axId val="%d"/><c:axId val="%d"/></c:lineChart>`, categoryAxis, valueAxis)
	x.WriteString(categoryAxisXML(d, "minMax", "b"))
	x.WriteString(d.valueAxisXML("between"))
	return x.String()
}

func scatterChartXML(d drawing) string {
	var x strings.Builder
	x.WriteString(`<c:scatterChart><c:scatterStyle val="lineMarker"/><c:varyColors val="0"/>`)
	for i := range d.series {
		x.WriteString(seriesHeadXML(d, i))
		if style := looks()[i]; d.Kind == kindFunnel && i > 0 {
			x.WriteString(`<c:spPr>` + outlineXML(style.line, 15875, style.dash) + `</c:spPr>` + noMarkerXML)
		} else {
			x.WriteString(noLineXML + markerXML(style))
		}
		x.WriteString(`<c:xVal>` + categoryXML(d) + `</c:xVal><c:yVal>` + valuesXML(d, i) + `</c:yVal><c:smooth val="0"/></c:ser>`)
	}
	fmt.Fprintf(&x, `<c:axId val="%d"/><c:axId val="%d"/></c:scatterChart>`, categoryAxis, valueAxis)
	low, high := extentOf(d.categoryCells)
	x.WriteString(axisXML("valAx", axis{
		id: categoryAxis, crossing: valueAxis, labels: "low", orientation: "minMax", position: "b",
		title: titleXML(strings.ReplaceAll(d.category.heading, "\n", ", "), 900, false, false),
		code:  axisCode(d.category.format, low, high), crosses: "autoZero", tail: `<c:crossBetween val="midCat"/>`,
	}))
	x.WriteString(d.valueAxisXML("midCat"))
	return x.String()
}

// valueAxisXML is the upright axis of lines and scatters.
func (d drawing) valueAxisXML(crossBetween string) string {
	low, high := d.extent()
	return axisXML("valAx", axis{
		id: valueAxis, crossing: categoryAxis, labels: "low", orientation: "minMax", position: "l", grid: true, bounds: d.closeBounds(low, high),
		title: titleXML(d.ValueAxisTitle, 900, false, true), code: axisCode(d.series[0].format, low, high),
		crosses: "autoZero", tail: `<c:crossBetween val="` + crossBetween + `"/>`,
	})
}

// closeBounds puts the upright axis of values within limits close around them: what matters
// there is which lies outside. Other lines and scatters are left to the program.
func (d drawing) closeBounds(low, high float64) string {
	if d.Kind != kindLineLimits && d.Kind != kindFunnel || !(high > low) {
		return ""
	}
	step := math.Pow(10, math.Floor(math.Log10(high-low)))
	least, most := math.Floor((low-step/4)/step)*step, math.Ceil((high+step/4)/step)*step
	if low >= 0 {
		least = max(least, 0)
	}
	return `<c:max val="` + strconv.FormatFloat(most, 'g', 12, 64) + `"/><c:min val="` + strconv.FormatFloat(least, 'g', 12, 64) + `"/>`
}

func categoryAxisXML(d drawing, orientation, position string) string {
	return axisXML("catAx", axis{
		id: categoryAxis, crossing: valueAxis, labels: "low", orientation: orientation, position: position,
		title: titleXML(strings.ReplaceAll(d.category.heading, "\n", ", "), 900, false, false),
		code:  d.category.format.pattern, crosses: "autoZero",
		tail: `<c:auto val="0"/><c:lblAlgn val="ctr"/><c:lblOffset val="100"/><c:tickLblSkip val="` + strconv.Itoa(d.labelStep()) + `"/><c:noMultiLvlLbl val="1"/>`,
	})
}

// axis is what differs from one axis to another.
type axis struct {
	id, crossing                  int
	orientation, bounds, position string
	labels                        string // where the labels stand: "low" is clear of negative bars
	grid                          bool
	title, code, crosses, tail    string
}

func axisXML(element string, a axis) string {
	var x strings.Builder
	fmt.Fprintf(&x, `<c:%s><c:axId val="%d"/><c:scaling><c:orientation val="%s"/>%s</c:scaling><c:delete val="0"/>`,
		element, a.id, a.orientation, a.bounds)
	fmt.Fprintf(&x, `<c:axPos val="%s"/>`, a.position)
	if a.grid {
		x.WriteString(`<c:majorGridlines><c:spPr>` + outlineXML(gridInk, 6350, "") + `</c:spPr></c:majorGridlines>`)
	}
	x.WriteString(a.title)
	fmt.Fprintf(&x, `<c:numFmt formatCode="%s" sourceLinked="0"/>`, escaped(a.code))
	x.WriteString(`<c:majorTickMark val="none"/><c:minorTickMark val="none"/>`)
	fmt.Fprintf(&x, `<c:tickLblPos val="%s"/>`, a.labels)
	x.WriteString(`<c:spPr>` + outlineXML(ruleColour, 9525, "") + `</c:spPr>`)
	x.WriteString(textXML(900))
	fmt.Fprintf(&x, `<c:crossAx val="%d"/><c:crosses val="%s"/>%s</c:%s>`, a.crossing, a.crosses, a.tail, element)
	return x.String()
}

// labelStep is how many labels share the room of one, so that none covers another.
func (d drawing) labelStep() int {
	rows := float64(len(d.categoryCells))
	if d.Kind == kindBar || d.Kind == kindBarStacked || d.Kind == kindWaterfall {
		room := float64(heightOf(d.Chart, len(d.categoryCells)) - chartFrame)
		return max(1, int(math.Ceil(rows*labelHeight/room)))
	}
	const plotWidth, columnUnit, gap = 540, 8, 14 // pixels
	widest := 0.0
	for _, cell := range d.categoryCells {
		widest = max(widest, textWidth(d.category.format.text(cell), false))
	}
	return max(1, int(math.Ceil((widest*columnUnit+gap)*rows/plotWidth)))
}

func seriesHeadXML(d drawing, index int) string {
	name, _, _ := strings.Cut(d.series[index].heading, "\n")
	return fmt.Sprintf(`<c:ser><c:idx val="%d"/><c:order val="%d"/><c:tx><c:v>%s</c:v></c:tx>`, index, index, escaped(name))
}

func markerXML(l look) string { return sizedMarkerXML(l, 6) }

// largeMarkerXML is the mark around the mark of another series.
func largeMarkerXML(l look) string { return sizedMarkerXML(l, 11) }

func sizedMarkerXML(l look, size int) string {
	return `<c:marker><c:symbol val="` + l.mark + `"/><c:size val="` + strconv.Itoa(size) + `"/><c:spPr><a:solidFill><a:srgbClr val="` + l.line +
		`"/></a:solidFill>` + outlineXML(l.line, 9525, "") + `</c:spPr></c:marker>`
}

const noLineXML = `<c:spPr><a:ln w="19050"><a:noFill/></a:ln></c:spPr>`

const noMarkerXML = `<c:marker><c:symbol val="none"/></c:marker>`

func outlineXML(colour string, width int, dash string) string {
	if dash != "" {
		dash = `<a:prstDash val="` + dash + `"/>`
	}
	return fmt.Sprintf(`<a:ln w="%d"><a:solidFill><a:srgbClr val="%s"/></a:solidFill>%s</a:ln>`, width, colour, dash)
}

// titleXML is a title of so many hundredths of a point, or nothing.
func titleXML(text string, size int, bold, upright bool) string {
	if text == "" {
		return ""
	}
	rotation := "0"
	if upright {
		rotation = `-5400000`
	}
	return paragraphsXML(rotation, paragraphXML(text, size, bold))
}

// headingXML is the title of a chart, and under it in smaller letters what the chart says.
func headingXML(title, finding string) string {
	if finding == "" {
		return titleXML(title, 1200, true, false)
	}
	return paragraphsXML("0", paragraphXML(title, 1200, true)+paragraphXML(finding, 1000, false))
}

func paragraphsXML(rotation, paragraphs string) string {
	return `<c:title><c:tx><c:rich><a:bodyPr rot="` + rotation + `" vert="horz"/>` + paragraphs + `</c:rich></c:tx><c:overlay val="0"/></c:title>`
}

func paragraphXML(text string, size int, bold bool) string {
	properties := runXML(size, bold)
	return `<a:p><a:pPr><a:defRPr` + properties + `</a:defRPr></a:pPr><a:r><a:rPr lang="en-US"` + properties + `</a:rPr><a:t>` + escaped(text) + `</a:t></a:r></a:p>`
}

func textXML(size int) string {
	return `<c:txPr><a:bodyPr/><a:p><a:pPr><a:defRPr` + runXML(size, false) + `</a:defRPr></a:pPr><a:endParaRPr lang="en-US"/></a:p></c:txPr>`
}

// runXML is the attributes and children of a run's properties.
func runXML(size int, bold bool) string {
	return fmt.Sprintf(` sz="%d" b="%d"><a:solidFill><a:srgbClr val="%s"/></a:solidFill><a:latin typeface="%s"/>`,
		size, map[bool]int{true: 1}[bold], chartInk, bodyFont)
}

// categoryXML is the reference to the labels, or to the horizontal values, with a copy.
func categoryXML(d drawing) string {
	if d.category.format.kind == kindText || slices.ContainsFunc(d.categoryCells, isText) {
		return stringsXML(d)
	}
	return numbersXML(d.categoryRange, d.category.format.pattern, d.categoryCells)
}

func valuesXML(d drawing, index int) string {
	return numbersXML(d.seriesRanges[index], d.series[index].format.pattern, d.seriesCells[index])
}

func isText(cell any) bool {
	_, ok := cell.(string)
	return ok
}

func stringsXML(d drawing) string {
	var x strings.Builder
	fmt.Fprintf(&x, `<c:strRef><c:f>%s</c:f><c:strCache><c:ptCount val="%d"/>`, escaped(d.categoryRange), len(d.categoryCells))
	for i, cell := range d.categoryCells {
		if text := d.category.format.text(cell); text != "" {
			fmt.Fprintf(&x, `<c:pt idx="%d"><c:v>%s</c:v></c:pt>`, i, escaped(text))
		}
	}
	x.WriteString(`</c:strCache></c:strRef>`)
	return x.String()
}

func numbersXML(reference, code string, cells []any) string {
	var x strings.Builder
	fmt.Fprintf(&x, `<c:numRef><c:f>%s</c:f><c:numCache><c:formatCode>%s</c:formatCode><c:ptCount val="%d"/>`,
		escaped(reference), escaped(code), len(cells))
	for i, cell := range cells {
		if value, ok := drawnValue(cell); ok {
			fmt.Fprintf(&x, `<c:pt idx="%d"><c:v>%s</c:v></c:pt>`, i, strconv.FormatFloat(value, 'f', -1, 64))
		}
	}
	x.WriteString(`</c:numCache></c:numRef>`)
	return x.String()
}

// drawnValue is a cell as a chart draws it. A blank and a word are not drawn.
func drawnValue(cell any) (float64, bool) {
	switch cell := cell.(type) {
	case Number:
		value, err := cell.cellValue()
		return value, err == nil
	case time.Time:
		return serial(cell), true
	}
	return 0, false
}

// extent is the least and the greatest value drawn; of stacked bars, the sign is what matters.
func (d drawing) extent() (low, high float64) {
	return extentOf(slices.Concat(d.seriesCells...))
}

func extentOf(cells []any) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, cell := range cells {
		if value, ok := drawnValue(cell); ok {
			low, high = min(low, value), max(high, value)
		}
	}
	return low, high
}

// axisCode is the number format of an axis, with no more decimals than its steps need.
func axisCode(f format, low, high float64) string {
	reach := max(math.Abs(low), math.Abs(high))
	switch {
	case f.kind != kindNumber:
		return f.pattern
	case f.percent && high-low >= 0.05:
		return "0%"
	case f.percent:
		return "0.0%"
	case f.decimals > 0 && reach >= 2 && high-low < 2:
		return "#,##0.0"
	case f.decimals == 0 || reach >= 20:
		return "#,##0"
	case reach >= 2:
		return "#,##0.0"
	}
	return "0.00"
}

func escaped(text string) string {
	var x strings.Builder
	// A strings.Builder never fails.
	_ = xml.EscapeText(&x, []byte(text))
	return x.String()
}
