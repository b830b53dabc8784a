package warehouse

// The code words of what can be wrong with a warehouse or with a SELECT over it.
const (
	CodeNoWarehouse         = "no-warehouse"         // nothing was imported yet
	CodeWarehouseLocked     = "warehouse-locked"     // another run has the warehouse open
	CodeWarehouseUnreadable = "warehouse-unreadable" // the warehouse file is damaged, or no warehouse
	CodeDamagedTable        = "damaged-table"        // a table can't be read: its part of the warehouse file is damaged
	CodeNewerWarehouse      = "newer-warehouse"      // a newer version of the program has upgraded the warehouse
	CodeAlreadyClosed       = "already-closed"       // the month, or one after it, is closed already
	CodeNothingClosed       = "nothing-closed"       // no month is closed that could be opened again
	CodeNotASelect          = "not-a-select"         // more, less or something else than one SELECT
	CodeBadSQL              = "bad-sql"              // the SQL can't be read or run
	CodeNotAllowed          = "not-allowed"          // the SELECT reads a file or a table that is not for readers, or calls a function that looks outside
	CodeNotSorted           = "not-sorted"           // a sheet's SELECT has no ORDER BY
	CodeRunsTooLong         = "runs-too-long"        // a query or a sheet of the plant's own was stopped at its time limit
	CodeTooMuchMemory       = "too-much-memory"      // a query or a sheet of the plant's own was stopped at its memory limit
	CodeWagesHidden         = "wages-hidden"         // the sheet or SELECT shows pay, and --wages is not given
)
