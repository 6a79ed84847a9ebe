// What is made from the tables of keys (keys.h) for others to read: JSON Schemas (2020-12) for
// editors, and the reference for people. Pure.
//
// A schema tells less than check(): nothing that needs other files, no names that come twice. It
// takes every value that check() takes, but for numbers and words that only quotes make texts, and
// numbers so near the ends of their bounds that an editor rounds them to them.
#pragma once

#include <string>

namespace girdle::config {

std::string settings_schema();
std::string mapping_schema();
std::string policy_schema();

// Markdown: one table for each map.
std::string reference();

}  // namespace girdle::config
