// Text in XML 1.0 (fifth edition): names and characters.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace girdle::delivery {

// A name after "Namespaces in XML 1.0": NCName, or two of them with a colon between (production 7).
bool is_xml_name(std::string_view name);

// The first character that XML cannot hold, escaped or not (production 2): its place in bytes.
// `text` is UTF-8.
std::optional<size_t> first_unfit_for_xml(std::string_view text);

// Appends text that is fit. In an attribute, tab, LF and CR are written so that no parser makes
// spaces of them; in an element, CR so that none makes LF of it (2.11, 3.3.3).
void append_xml_text(std::string& out, std::string_view text);
void append_xml_attribute(std::string& out, std::string_view text);

}  // namespace girdle::delivery
