package ingest

import "testing"

func TestTemplateLandsAsItStands(t *testing.T) {
	w := newTestWarehouse(t)
	for _, feed := range Feeds() {
		receipt := w.mustLand(feed.Name+"-template.csv", string(Template(feed)))
		if receipt.New != 1 || receipt.Rejected != 0 || len(receipt.Warnings) != 0 {
			t.Errorf("%s: new %d, rejected %d, warnings %q", feed.Name, receipt.New, receipt.Rejected, receipt.Warnings)
		}
	}
}
