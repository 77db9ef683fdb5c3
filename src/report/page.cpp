#include "report/page.h"

#include <fmt/format.h>

#include "report/sheet.h"
#include "report/text.h"

namespace report {

std::string results_page(const design::Result& r) {
  const std::string name = escaped(r.brief ? r.brief->name : "design");
  TextOptions options;
  options.width = 110;
  std::string out = fmt::format(R"(<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{0}</title>
<style>
  body {{ margin: 0 auto; max-width: 1180px; padding: 1rem; background: #fff; color: {1};
         font: 15px/1.5 "DejaVu Sans", Verdana, Helvetica, sans-serif; }}
  nav a {{ margin-right: 1.2em; color: {2}; }}
  pre {{ font: 13px/1.45 "DejaVu Sans Mono", Menlo, Consolas, monospace; background: {3}; padding: 1rem;
        overflow-x: auto; border-radius: 4px; }}
  svg {{ max-width: 100%; height: auto; }}
  h2 {{ margin-top: 2em; border-bottom: 1px solid {4}; }}
  footer {{ margin-top: 3em; color: {5}; font-size: 13px; }}
  @media print {{ nav {{ display: none; }} pre {{ white-space: pre-wrap; }} }}
</style>
</head>
<body>
<h1>{0}</h1>
<nav><a href="#sheet">Sheet</a><a href="#report">Report</a><a href="#functions">Functions</a></nav>
)",
                                name, ink::kText, ink::kGood, ink::kGround, ink::kLine, ink::kFaint);
  out += "<h2 id=\"sheet\">Sheet</h2>\n" + sheet(r).str();
  out += "<h2 id=\"report\">Report</h2>\n<pre>" + escaped(design_text(r, options, true)) + "</pre>\n";
  out += "<h2 id=\"functions\">Functions: why this one, why not the others</h2>\n";
  for (std::size_t f = 0; f < r.functions.size(); ++f) {
    out += "<pre>" + escaped(explain_text(r, f, "", options)) + "</pre>\n";
  }
  out +=
      "<footer>All figures are for a model, never for real lifting. Keep fingers, hair and string away from moving "
      "gears; do not hold a stalled motor on; do not short or mix cells; keep small parts from young "
      "children.</footer>\n</body>\n</html>\n";
  return out;
}

}  // namespace report
