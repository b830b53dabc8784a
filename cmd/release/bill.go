package main

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"time"

	cyclonedx "github.com/CycloneDX/cyclonedx-go"
	"github.com/google/uuid"
)

// billName is the bill of materials in an archive.
const billName = "bill-of-materials.cdx.json"

// bill is the CycloneDX bill of materials of a target's program: every component with its
// licences and what it calls, and the SHA-256 of each file that was built.
func (r release) bill(t target, components []component, files []packedFile) ([]byte, error) {
	bom := cyclonedx.NewBOM()
	bom.Metadata = &cyclonedx.Metadata{
		Timestamp: r.when.Format(time.RFC3339),
		Component: &cyclonedx.Component{
			BOMRef: programModule, Type: cyclonedx.ComponentTypeApplication, Name: programModule, Version: r.version,
			Licenses:   licenceChoices([]string{"Apache-2.0"}),
			Components: builtComponents(files),
			Properties: &[]cyclonedx.Property{{Name: "commit", Value: r.commit}, {Name: "platform", Value: t.system + "/" + t.processor}},
		},
	}
	var listed []cyclonedx.Component
	calls := []cyclonedx.Dependency{}
	for _, c := range components {
		needs := []string{}
		for _, need := range c.needs {
			needs = append(needs, referenceTo(components, need))
		}
		if c.name == programModule {
			for _, part := range components {
				if !part.module && part.name != goName {
					needs = append(needs, part.reference())
				}
			}
		} else {
			listed = append(listed, cyclonedx.Component{
				BOMRef: c.reference(), Type: cyclonedx.ComponentTypeLibrary, Name: c.name, Version: c.version,
				PackageURL: c.packageURL(), Licenses: licenceChoices(c.licences),
			})
		}
		calls = append(calls, cyclonedx.Dependency{Ref: c.reference(), Dependencies: &needs})
	}
	bom.Components, bom.Dependencies = &listed, &calls
	// The number is of what the bill says: the same release has the same one.
	said, err := encoded(bom)
	if err != nil {
		return nil, err
	}
	bom.SerialNumber = uuid.NewSHA1(uuid.NameSpaceOID, said).URN()
	return encoded(bom)
}

func encoded(bom *cyclonedx.BOM) ([]byte, error) {
	var out bytes.Buffer
	err := cyclonedx.NewBOMEncoder(&out, cyclonedx.BOMFileFormatJSON).SetPretty(true).EncodeVersion(bom, cyclonedx.SpecVersion1_6)
	return out.Bytes(), err
}

// reference names a component within a bill.
func (c component) reference() string {
	if c.version == "" {
		return c.name
	}
	return c.name + "@" + c.version
}

func referenceTo(components []component, name string) string {
	for _, c := range components {
		if c.name == name {
			return c.reference()
		}
	}
	return name
}

// packageURL is where the component comes from (purl), "" where no registry has it.
func (c component) packageURL() string {
	if !c.module {
		return ""
	}
	return "pkg:golang/" + c.name + "@" + c.version
}

func licenceChoices(names []string) *cyclonedx.Licenses {
	var choices cyclonedx.Licenses
	for _, name := range names {
		choices = append(choices, cyclonedx.LicenseChoice{License: &cyclonedx.License{ID: name}})
	}
	return &choices
}

func builtComponents(files []packedFile) *[]cyclonedx.Component {
	var built []cyclonedx.Component
	for _, file := range files {
		built = append(built, cyclonedx.Component{
			BOMRef: "file:" + file.name, Type: cyclonedx.ComponentTypeFile, Name: file.name,
			Hashes: &[]cyclonedx.Hash{{Algorithm: cyclonedx.HashAlgoSHA256, Value: fmt.Sprintf("%x", sha256.Sum256(file.data))}},
		})
	}
	return &built
}
