// Package page writes one self-contained HTML file to look at: findings, figures, charts as
// inline SVG, tables, and links to files beside it. It needs no network, no script and no
// font of its own, follows the reader's light or dark scheme, and prints in light.
//
// Texts are the caller's, figures come with their text as it is shown; the package places
// and escapes them. The same Page gives the same bytes.
//
// Pipeline: last step, beside reports/workbook; reports fills a Page from the rows of its
// sheets.
//
// It must not know: what a figure means, the trade, any query, any database, the clock.
package page
