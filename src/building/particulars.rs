//! What a builder, a consent officer or an owner looks for in the pack and the work itself does not say.

use serde::{Deserialize, Serialize};

use crate::form::{Count, Name, Section};

/// Who did the work, under what, and with what: each asked once, as free text but for the last. What is not stated is
/// named as missing.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Particulars {
    /// The crew's company.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub company: Option<String>,
    /// Licence or registration of the person in charge.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub licence: Option<String>,
    /// Whom to ask in twelve years.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub contact: Option<String>,
    /// Number of the building consent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub consent: Option<String>,
    /// Clauses of the building code that the work is to meet, and for how many years.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clauses: Option<String>,
    /// Wind zone of the site.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wind_zone: Option<String>,
    /// Corrosion zone of the site.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub corrosion_zone: Option<String>,
    /// Maker of the cladding.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub maker: Option<String>,
    /// The product by name, with its thickness.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub product: Option<String>,
    /// Its appraisal or certificate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub appraisal: Option<String>,
    /// Its colour.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub colour: Option<String>,
    /// Fixings: material, coating, length, spacing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fixings: Option<String>,
    /// Wrap and tapes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wrap: Option<String>,
    /// Flashings: metal, coating, thickness.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub flashings: Option<String>,
    /// Sealant and primer.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sealant: Option<String>,
    /// Warranties of product and work: whose, from when, until when.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub warranty: Option<String>,
    /// Months from one washing to the next, by the makers' care instructions and the exposure of the site.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub care_months: Option<u32>,
}

impl Particulars {
    pub(super) fn read(f: &Section<'_>) -> Self {
        Self {
            company: f.optional("company", Name, "the crew's company"),
            licence: f.optional("licence", Name, "licence or registration of the person in charge"),
            contact: f.optional("contact", Name, "whom to ask in twelve years"),
            consent: f.optional("consent", Name, "number of the building consent"),
            clauses: f.optional(
                "clauses",
                Name,
                "clauses of the building code that the work is to meet, and for how many years",
            ),
            wind_zone: f.optional("wind_zone", Name, "wind zone of the site"),
            corrosion_zone: f.optional("corrosion_zone", Name, "corrosion zone of the site"),
            maker: f.optional("maker", Name, "maker of the cladding"),
            product: f.optional("product", Name, "the product by name, with its thickness"),
            appraisal: f.optional("appraisal", Name, "its appraisal or certificate"),
            colour: f.optional("colour", Name, "its colour"),
            fixings: f.optional("fixings", Name, "fixings: material, coating, length, spacing"),
            wrap: f.optional("wrap", Name, "wrap and tapes"),
            flashings: f.optional("flashings", Name, "flashings: metal, coating, thickness"),
            sealant: f.optional("sealant", Name, "sealant and primer"),
            warranty: f.optional("warranty", Name, "warranties of product and work: whose, from when, until when"),
            care_months: f.optional(
                "care_months",
                Count(1, 60),
                "months from one washing to the next, by the makers' care instructions and the exposure of the site; 12",
            ),
        }
    }

    /// Each with its name and the line of the pack that it stands in, in the order in which they are read.
    pub fn all(&self) -> [(&'static str, &'static str, Option<&str>); 16] {
        [
            ("Company", "company", self.company.as_deref()),
            ("Company", "licence", self.licence.as_deref()),
            ("Company", "contact", self.contact.as_deref()),
            ("Consent", "consent", self.consent.as_deref()),
            ("Consent", "code clauses", self.clauses.as_deref()),
            ("Consent", "wind zone", self.wind_zone.as_deref()),
            ("Consent", "corrosion zone", self.corrosion_zone.as_deref()),
            ("Product", "maker", self.maker.as_deref()),
            ("Product", "product", self.product.as_deref()),
            ("Product", "appraisal", self.appraisal.as_deref()),
            ("Product", "colour", self.colour.as_deref()),
            ("Behind it", "fixings", self.fixings.as_deref()),
            ("Behind it", "wrap", self.wrap.as_deref()),
            ("Behind it", "flashings", self.flashings.as_deref()),
            ("Behind it", "sealant", self.sealant.as_deref()),
            ("Warranty", "warranty", self.warranty.as_deref()),
        ]
    }
}
