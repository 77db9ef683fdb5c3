// A document as a list of blocks, for any paper or screen. Writers decide about lines, pages and colours.
#pragma once

#include <exception>
#include <functional>
#include <map>
#include <string>
#include <variant>
#include <vector>

#include "report/svg.h"

namespace dossier {

enum class Tone { plain, strong, faint, good, bad };

struct Heading {
  int level = 1;  ///< 1 = chapter
  std::string text;
  std::string anchor;  ///< unique in the document, letters, digits and "-"
};

struct Paragraph {
  std::string text;
  Tone tone = Tone::plain;
};

struct List {
  enum class Mark { bullet, number, box };  ///< box: to tick off with a pen
  std::vector<std::string> items;
  Mark mark = Mark::bullet;
};

/// Something to heed, set apart from the text.
struct Notice {
  std::string title;
  std::vector<std::string> lines;
  bool danger = false;
};

struct Cell {
  std::string text;
  Tone tone = Tone::plain;
};

struct Column {
  std::string heading;
  bool right = false;  ///< figures
};

struct Table {
  std::string title;  ///< above the table; told again where it goes on
  std::vector<Column> columns;
  std::vector<std::vector<Cell>> rows;
  bool boxes = false;  ///< a box to tick off before every row
};

struct Figure {
  report::Svg drawing;
  std::string caption;
  std::string name;         ///< of its file, unique, letters, digits and "_"
  bool whole_page = false;  ///< on a page of its own, across where it is wider than high
  double mm_per_pixel = 0;  ///< true size on paper; 0 = as large as there is room
};

/// Moving pictures of a page on a screen; paper leaves them out. `data` is JSON, read by the page's script.
struct Live {
  enum class Type { linkage, space };
  Type type = Type::linkage;
  std::string title, data;
  std::string hint;  ///< how to use it
};

/// The table of contents stands here.
struct Contents {
  std::string title;
};

using Block = std::variant<Heading, Paragraph, List, Notice, Table, Figure, Live, Contents>;

struct Document {
  std::string title, subtitle, language;
  std::string subject, keywords;
  std::string footer;       ///< on every page of paper
  std::string page_n_of_m;  ///< "Page {n} of {m}"
  std::string continued;    ///< "(continued)"
  std::string parts_json;   ///< the machine-readable list of parts, for the page
  std::vector<Block> blocks;

  template <class T>
  void add(T block) {
    blocks.emplace_back(std::move(block));
  }
};

enum class Paper { a4, letter };

/// Asked now and then while something is written; true = nobody wants it any more, and Abandoned is thrown.
using Unwanted = std::function<bool()>;
struct Abandoned : std::exception {
  [[nodiscard]] const char* what() const noexcept override { return "nobody wants this dossier any more"; }
};
inline void heed(const Unwanted& unwanted) {
  if (unwanted && unwanted()) throw Abandoned();
}

struct Printed {
  std::string bytes;
  int pages = 0;
  std::map<std::string, int> page_of;  ///< anchor of a heading -> its page, from 1
};

/// The document as PDF 1.5: vector drawings, embedded fonts, outline, links, page numbers. The same document gives the
/// same bytes on one machine; no time of writing is told. Throws base::InternalFault when Cairo fails.
[[nodiscard]] Printed print(const Document& document, Paper paper, const Unwanted& unwanted = {});
[[nodiscard]] inline std::string pdf_of(const Document& document, Paper paper) {
  return print(document, paper).bytes;
}

/// One page that needs nothing else: drawings in line, its script and style inside.
[[nodiscard]] std::string html_of(const Document& document);

}  // namespace dossier
