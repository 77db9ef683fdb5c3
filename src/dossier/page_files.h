// Style and script of the page, from page.css and page.js beside this file.
#pragma once

#include <string_view>

namespace dossier {

extern const std::string_view kPageStyle, kPageScript;

}  // namespace dossier
