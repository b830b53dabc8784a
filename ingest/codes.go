package ingest

// The code words of what can be wrong with a file or a row. A code word is stable: people
// search for it, and scripts match it.
const (
	// A file as a whole.
	CodeUnknownFeed       = "unknown-feed"       // no feed is known for the file
	CodeAmbiguousFeed     = "ambiguous-feed"     // the patterns of several feeds claim the file
	CodeNoSuchFile        = "no-such-file"       // there is no file of that name
	CodeIsAFolder         = "is-a-folder"        // a folder stands where a file is expected
	CodeNotAFile          = "not-a-file"         // a link, pipe or device stands where a file is expected
	CodeCannotRead        = "cannot-read"        // the system does not let us read the file
	CodeFileChanged       = "file-changed"       // the file changed while it was read
	CodeEmptyFile         = "empty-file"         // the file holds no row at all, not even a header
	CodeNotCSV            = "not-csv"            // the file is neither CSV nor XLSX: an old workbook, an archive or other binary data
	CodeBadWorkbook       = "bad-workbook"       // the workbook is cut off or damaged
	CodePasswordProtected = "password-protected" // the workbook opens with a password only
	CodeTooLarge          = "too-large"          // the workbook unzips to more than any real one, or the file has too many rows or columns
	CodeWhichSheet        = "which-sheet"        // no one sheet of the workbook is known to hold the feed
	CodeBadEncoding       = "bad-encoding"       // the file holds bytes that are no text in its encoding
	CodeNoHeader          = "no-header"          // the header row has none of the feed's columns
	CodeMissingColumn     = "missing-column"     // a required column is not in the header row
	CodeRepeatedColumn    = "repeated-column"    // two headers stand for one column
	CodeBlankColumn       = "blank-column"       // a column has no header
	CodeUnknownColumn     = "unknown-column"     // plant.toml names a column that the feed does not have
	CodeUnterminatedQuote = "unterminated-quote" // a quote is opened and never closed
	CodeControlTotal      = "control-total"      // the rows do not add up to the file's own total
	CodeNoTotal           = "no-total"           // the line with the file's own total is not there
	CodeTooManyRemoved    = "too-many-removed"   // the file would remove more than a fifth of the rows of its groups

	// A file that was read before, and its copy.
	CodeArchiveMissing = "archive-missing" // the copy of a file that was read is not in archive/
	CodeArchiveDiffers = "archive-differs" // the copy in archive/ is not the file that was read, or has no such row

	// An import that is to be undone.
	CodeUnknownImport = "unknown-import" // there is no import of that number
	CodeAlreadyUndone = "already-undone" // the import is undone already
	CodeBuiltOn       = "built-on"       // a later import builds on the one to be undone
	CodeClosedWith    = "closed-with"    // a month was closed with the import that is to be undone

	// A row.
	CodeRaggedRow   = "ragged-row"   // a row has more or fewer cells than the header row
	CodeStrayQuote  = "stray-quote"  // text follows a closing quote
	CodeRowTooLong  = "row-too-long" // a row is longer than any real row
	CodeRepeatedKey = "repeated-key" // one key stands twice in a file, with different values
	CodeWith        = "with"         // a good row, refused with a bad one of its group

	// A cell.
	CodeMissingValue    = "missing-value"     // a required cell is blank
	CodeErrorCell       = "error-cell"        // the sheet shows an error such as #N/A
	CodeNoValue         = "no-value"          // a formula whose value is not in the file
	CodeDateCell        = "date-cell"         // the sheet holds a date or a time of the clock where the column has none
	CodeBadNumber       = "bad-number"        // not a number
	CodeTooManyDecimals = "too-many-decimals" // more decimals than the column holds
	CodeOutOfRange      = "out-of-range"      // a value below or above what the column holds
	CodeBadDate         = "bad-date"          // not a date
	CodeBadTime         = "bad-time"          // not a date and time
	CodeBadLength       = "bad-length"        // not a length
	CodeBadSize         = "bad-size"          // not a nominal section
	CodeNotInList       = "not-in-list"       // not a word of the column's closed list
	CodeUnmappedCode    = "unmapped-code"     // not one of the plant's codes in plant.toml
	CodeBadParts        = "bad-parts"         // not made as the pattern of plant.toml says
	CodeNotExact        = "not-exact"         // a figure in another unit that would have to be rounded
	CodeUnknownPack     = "unknown-pack"      // plant.toml does not say how many boards a pack of the size holds
	CodeUnknownStation  = "unknown-station"   // not a station of plant.toml

	// A rule over a row, used by the feeds' declarations.
	CodeNeedsOneOf = "needs-one-of" // one of several cells must be given
	CodeBadOrder   = "bad-order"    // times that run backwards
	CodeBadSign    = "bad-sign"     // above 0 where the meaning asks for below, or the reverse
)
