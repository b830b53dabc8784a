package plant

// The code words of what can be wrong with plant.toml, beside those of a cell (package
// ingest), which it shares.
const (
	CodeNoPlant        = "no-plant"        // the folder holds no plant.toml
	CodeMissingSetting = "missing-setting" // a setting that has no default is not there
	CodeUnknownSetting = "unknown-setting" // plant.toml holds a setting, or names a feed, that does not exist
	CodeBadSetting     = "bad-setting"     // a setting that is not readable, or not one of its values
)
