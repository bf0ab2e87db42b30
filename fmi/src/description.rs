//! `modelDescription.xml` (FMI 3.0, section 2.4).

use crate::IDENTIFIER;
use crate::variables::{Meaning, Variable, token};
use std::fmt::Write as _;

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            // No control character is allowed in XML 1.0, escaped or not.
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// The description of a unit with these variables: the run's name, its length, s, and what the input is at the start, K.
#[must_use]
pub fn xml(run: &str, duration_s: f64, input_K: f64, all: &[Variable]) -> String {
    let (mut variables, mut outputs, mut unknowns) = (String::new(), String::new(), String::new());
    for (reference, v) in all.iter().enumerate() {
        let (name, words) = (escaped(&v.name), escaped(&v.words));
        let head =
            format!("name=\"{name}\" valueReference=\"{reference}\" description=\"{words}\"");
        let _ = match v.meaning {
            Meaning::Time => writeln!(
                variables,
                "    <Float64 {head} causality=\"independent\" variability=\"continuous\" unit=\"s\"/>"
            ),
            Meaning::UseInput => writeln!(
                variables,
                "    <Boolean {head} causality=\"parameter\" variability=\"fixed\" start=\"false\"/>"
            ),
            Meaning::Input => writeln!(
                variables,
                "    <Float64 {head} causality=\"input\" variability=\"continuous\" unit=\"K\" start=\"{input_K}\"/>"
            ),
            _ => {
                let unit = if v.meaning == Meaning::HeatToRoom {
                    "W"
                } else {
                    "K"
                };
                let relative = match v.meaning {
                    Meaning::Margin(_) | Meaning::LeastMargin => " relativeQuantity=\"true\"",
                    _ => "",
                };
                let _ = writeln!(outputs, "    <Output valueReference=\"{reference}\"/>");
                let _ = writeln!(
                    unknowns,
                    "    <InitialUnknown valueReference=\"{reference}\"/>"
                );
                writeln!(
                    variables,
                    "    <Float64 {head} causality=\"output\" variability=\"continuous\" unit=\"{unit}\"{relative}/>"
                )
            }
        };
    }
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?>
<fmiModelDescription fmiVersion="3.0" modelName="{run}" instantiationToken="{token}"
  description="Temperatures of a closed material-extrusion chamber and of the filament on its way over a run of days"
  generationTool="dogdays {version}" variableNamingConvention="structured">
  <CoSimulation modelIdentifier="{IDENTIFIER}" canHandleVariableCommunicationStepSize="true"/>
  <UnitDefinitions>
    <Unit name="s"><BaseUnit s="1"/></Unit>
    <Unit name="K"><BaseUnit K="1"/><DisplayUnit name="degC" offset="-273.15"/></Unit>
    <Unit name="W"><BaseUnit kg="1" m="2" s="-3"/></Unit>
  </UnitDefinitions>
  <LogCategories>
    <Category name="logStatusError" description="what went wrong, and what to do about it"/>
  </LogCategories>
  <DefaultExperiment startTime="0" stopTime="{duration_s}" stepSize="60"/>
  <ModelVariables>
{variables}  </ModelVariables>
  <ModelStructure>
{outputs}{unknowns}  </ModelStructure>
</fmiModelDescription>
"#,
        run = escaped(run),
        token = token(all),
        version = env!("CARGO_PKG_VERSION"),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_xml_can_not_hold_is_escaped_or_left_out() {
        assert_eq!(
            escaped("a < \"b\" & c\u{1}>"),
            "a &lt; &quot;b&quot; &amp; c &gt;"
        );
    }
}
