#include "document/toml_edit.h"

#include <algorithm>
#include <iterator>

#include "document/toml_layout.h"
#include "document/toml_reader.h"

namespace document {
namespace {

constexpr std::size_t kLongestInline = 80;  // characters; longer tables get a header of their own

using Steps = std::vector<std::string>;

bool is_list_of_tables(const Node& n) {
  return n.kind == Node::Kind::array && !n.items.empty() &&
         std::all_of(n.items.begin(), n.items.end(), [](const Node& i) { return i.kind == Node::Kind::table; });
}

/// A change of the text: the bytes of `span` become `text`.
struct Change {
  Span span;
  std::string text;
};

/// The text of one project file while it is being edited, laid out anew after every change: files are small.
class Editor {
 public:
  Editor(std::string text) : text_(std::move(text)) { lay_out(); }

  [[nodiscard]] const std::string& text() const { return text_; }
  [[nodiscard]] bool is_new(const Steps& at) const {
    const Found found = find(at);
    return found.item == nullptr && found.value == nullptr;
  }

  // The pointers handed to these have been checked against the tree by apply_edit().
  void set(const Steps& at, const Node& value) {
    if (at.empty()) {
      set_section(at, tree_, value);
      return;
    }
    const Found found = find(at);
    if (found.item != nullptr) {
      set_item(at, *found.item, value);
    } else if (found.value != nullptr) {
      set_value(at, *found.value, value);
    } else {
      add(at, value);
    }
  }

  void remove(const Steps& at) {
    const Found found = find(at);
    if (found.item != nullptr) {
      if (found.item->form == LaidItem::Form::value) {
        change({{statement(found.item->statement).line, ""}});
      } else {
        remove_tables(*found.item);
      }
      return;
    }
    if (found.value == nullptr) return;
    const Steps parent(at.begin(), at.end() - 1);
    const LaidValue& list = *written(parent);
    std::vector<Span> pieces;
    std::size_t gone = 0;
    if (list.form == LaidValue::Form::array) {
      gone = *pointer_index(at.back());
      for (const LaidValue& v : list.items) pieces.push_back(v.span);
    } else {
      gone = member_index(list, at.back());
      for (const LaidMember& m : list.members) pieces.push_back(m.span);
    }
    remove_piece(list, pieces, gone);
  }

  /// `at` names the place in the list; its index is at most the length.
  void insert(const Steps& at, const Node& value) {
    const Steps parent(at.begin(), at.end() - 1);
    const Found found = find(parent);
    const std::size_t index = *pointer_index(at.back());
    if (found.item != nullptr && found.item->form == LaidItem::Form::list) {
      insert_element(parent, *found.item, index, value);
      return;
    }
    const LaidValue* list = found.item != nullptr ? found.item->value : found.value;
    if (list == nullptr) return;
    if (list->items.empty() && value.kind == Node::Kind::table && parent.size() == 1) {
      // "functions = []" becomes a list of headed tables, as hand-written files have them.
      remove(parent);
      append_tables(parent, value);
      return;
    }
    insert_item(*list, index, toml_text(value));
  }

 private:
  struct Found {
    const LaidItem* item = nullptr;    ///< something that statements say
    const LaidValue* value = nullptr;  ///< something inside a written value
  };

  void lay_out() {
    statements_ = lay_out_toml(text_);
    tree_ = laid_tree(statements_);
    newline_ = text_.find("\r\n") != std::string::npos ? "\r\n" : "\n";
  }
  [[nodiscard]] const LaidStatement& statement(int i) const { return statements_[static_cast<std::size_t>(i)]; }

  /// Changes may not overlap; all places are of the text before.
  void change(std::vector<Change> changes) {
    std::sort(changes.begin(), changes.end(),
              [](const Change& a, const Change& b) { return a.span.begin > b.span.begin; });
    for (const Change& c : changes) text_.replace(c.span.begin, c.span.end - c.span.begin, c.text);
    lay_out();
  }

  static std::size_t member_index(const LaidValue& table, const std::string& key) {
    for (std::size_t i = 0; i < table.members.size(); ++i) {
      if (table.members[i].key.size() == 1 && table.members[i].key[0] == key) return i;
    }
    return table.members.size();
  }

  [[nodiscard]] Found find(const Steps& at) const {
    Found out{&tree_, nullptr};
    for (const std::string& step : at) {
      if (out.item != nullptr && out.item->form != LaidItem::Form::value) {
        if (out.item->form == LaidItem::Form::list) {
          const auto index = pointer_index(step);
          if (!index || *index >= out.item->elements.size()) return {};
          out.item = &out.item->elements[*index];
        } else {
          out.item = out.item->find(step);
          if (out.item == nullptr) return {};
        }
        continue;
      }
      const LaidValue* value = out.item != nullptr ? out.item->value : out.value;
      out = {};
      if (value->form == LaidValue::Form::array) {
        const auto index = pointer_index(step);
        if (!index || *index >= value->items.size()) return {};
        out.value = &value->items[*index];
      } else {
        const std::size_t index = member_index(*value, step);
        if (value->form != LaidValue::Form::table || index >= value->members.size()) return {};
        out.value = &value->members[index].value;
      }
    }
    return out;
  }
  /// The written value at `at`; null for a table or list of statements.
  [[nodiscard]] const LaidValue* written(const Steps& at) const {
    const Found found = find(at);
    return found.item != nullptr ? found.item->value : found.value;
  }

  /// What the text says at `at` now, to compare with what shall stand there.
  [[nodiscard]] std::optional<Node> read(const Steps& at) const {
    Diagnostics silent;
    std::optional<Node> node = parse_toml(text_, "", silent);
    if (!node) return std::nullopt;
    for (const std::string& step : at) {
      if (node->kind == Node::Kind::table) {
        const Node* next = node->find(step);
        if (next == nullptr) return std::nullopt;
        node = Node(*next);
      } else {
        const auto index = pointer_index(step);
        if (!index || *index >= node->items.size()) return std::nullopt;
        node = Node(node->items[*index]);
      }
    }
    return node;
  }

  static Steps below(Steps at, std::string step) {
    at.push_back(std::move(step));
    return at;
  }

  void set_item(const Steps& at, const LaidItem& item, const Node& value) {
    switch (item.form) {
      case LaidItem::Form::value:
        set_value(at, *item.value, value);
        return;
      case LaidItem::Form::section:
        if (value.kind == Node::Kind::table) {
          set_section(at, item, value);
          return;
        }
        break;
      case LaidItem::Form::list:
        if (is_list_of_tables(value)) {
          set_list(at, item.elements.size(), value);
          return;
        }
        break;
    }
    const Steps parent(at.begin(), at.end() - 1);
    const Found list = find(parent);
    if (list.item != nullptr && list.item->form == LaidItem::Form::list) {
      // An element that is no table any more: only a list in brackets can hold it.
      Node all = read(parent).value_or(Node{});
      all.items[*pointer_index(at.back())] = value;
      remove(parent);
      add(parent, all);
      return;
    }
    remove(at);
    if (value.kind != Node::Kind::array || !value.items.empty()) add(at, value);
  }

  void set_section(const Steps& at, const LaidItem& section, const Node& value) {
    std::vector<std::string> gone;
    for (const LaidItem::Member& m : section.members) {
      if (value.find(m.key) == nullptr) gone.push_back(m.key);
    }
    for (const std::string& key : gone) remove(below(at, key));
    for (const Entry& e : value.entries) set(below(at, e.key), e.value);
  }

  void set_list(const Steps& at, std::size_t length, const Node& value) {
    const std::size_t common = std::min(length, value.items.size());
    for (std::size_t i = 0; i < common; ++i) set(below(at, std::to_string(i)), value.items[i]);
    for (std::size_t i = length; i > common; --i) remove(below(at, std::to_string(i - 1)));
    for (std::size_t i = common; i < value.items.size(); ++i) insert(below(at, std::to_string(i)), value.items[i]);
  }

  void set_value(const Steps& at, const LaidValue& laid, const Node& value) {
    const std::optional<Node> now = read(at);
    if (now && same_value(*now, value) && now->kind == value.kind) return;
    if (now && now->is_number() && value.is_number() && now->number() == value.number()) return;
    if (laid.form == LaidValue::Form::array && value.kind == Node::Kind::array && !laid.items.empty() &&
        !value.items.empty()) {
      set_list(at, laid.items.size(), value);
      return;
    }
    if (laid.form == LaidValue::Form::table && value.kind == Node::Kind::table && !has_dotted(laid)) {
      std::vector<std::string> gone;
      for (const LaidMember& m : laid.members) {
        if (value.find(m.key[0]) == nullptr) gone.push_back(m.key[0]);
      }
      for (const std::string& key : gone) remove(below(at, key));
      for (const Entry& e : value.entries) set(below(at, e.key), e.value);
      return;
    }
    change({{laid.span, toml_text(value)}});
  }

  static bool has_dotted(const LaidValue& table) {
    return std::any_of(table.members.begin(), table.members.end(),
                       [](const LaidMember& m) { return m.key.size() > 1; });
  }

  /// A key that is not there yet; tables above it that are missing are made.
  void add(const Steps& at, const Node& value) {
    const Steps parent(at.begin(), at.end() - 1);
    const Found found = find(parent);
    if (found.item == nullptr && found.value == nullptr) {
      Node table;
      table.entries.push_back({at.back(), {}, value});
      add(parent, table);
      return;
    }
    const LaidValue* inside = found.item != nullptr ? found.item->value : found.value;
    if (inside != nullptr) {
      add_member(*inside, toml_key(at.back()) + " = " + toml_text(value));
      return;
    }
    const LaidItem& section = *found.item;
    const std::string inline_text = toml_text(value);
    const bool table = value.kind == Node::Kind::table;
    if (is_list_of_tables(value) && parent.empty()) {
      append_tables(at, value);
    } else if (table && section.dotted.empty() &&
               (parent.empty() || inline_text.size() > kLongestInline || twin_has_header(parent, at.back()))) {
      add_header(at, section, value);
    } else {
      add_pair(section, at, inline_text);
    }
  }

  /// Another element of the same list writes this key with a header of its own.
  [[nodiscard]] bool twin_has_header(const Steps& parent, const std::string& key) const {
    const Found list = find(Steps(parent.begin(), parent.end() - 1));
    if (list.item == nullptr || list.item->form != LaidItem::Form::list) return false;
    return std::any_of(list.item->elements.begin(), list.item->elements.end(), [&](const LaidItem& e) {
      const LaidItem* twin = e.find(key);
      return twin != nullptr && twin->form == LaidItem::Form::section && twin->statement >= 0;
    });
  }

  void add_member(const LaidValue& table, const std::string& pair) {
    if (table.members.empty()) {
      change({{table.span, "{ " + pair + " }"}});
      return;
    }
    const std::size_t end = table.members.back().span.end;
    change({{{end, end}, ", " + pair}});
  }

  /// Indentation of the line on which statement i begins.
  [[nodiscard]] std::string indentation(int i) const {
    if (i < 0) return "";
    const LaidStatement& s = statement(i);
    return text_.substr(s.line.begin, s.begin - s.line.begin);
  }
  [[nodiscard]] std::string line(const std::string& indent, const std::string& content) const {
    return indent + content + newline_;
  }
  /// A whole line at byte `at`, which is the start of a line or the end of a text that may lack its last newline.
  void insert_lines(std::size_t at, std::string lines) {
    if (at > 0 && text_[at - 1] != '\n' && !(at == 3 && text_.substr(0, 3) == "\xEF\xBB\xBF")) lines = newline_ + lines;
    change({{{at, at}, std::move(lines)}});
  }

  void add_pair(const LaidItem& section, const Steps& at, const std::string& value) {
    if (!section.dotted.empty() && section.statement < 0) {  // made by dotted keys: one more of them
      const int last = section.dotted.back();
      std::vector<std::string> key = statement(last).key;
      const std::string& own = at[at.size() - 2];
      while (key.size() > 1 && key.back() != own) key.pop_back();
      std::string written_key;
      for (const std::string& part : key) written_key += toml_key(part) + ".";
      insert_lines(statement(last).line.end,
                   line(indentation(last), written_key + toml_key(at.back()) + " = " + value));
      return;
    }
    const std::string pair = toml_key(at.back()) + " = " + value;
    const bool root = at.size() == 1;
    if (!root && section.statement < 0) {  // only tables below it have headers so far
      std::size_t place = text_.size();
      for (const LaidStatement& s : statements_) {
        if (s.form == LaidStatement::Form::pair || !begins_with(s.key, header_key(at))) continue;
        place = s.block_begin;
        break;
      }
      insert_lines(place, line("", "[" + header_text(header_key(at)) + "]") + line("", pair) + newline_);
      return;
    }
    int last = section.statement;  // the header, then its last pair
    for (int i = section.statement + 1; i < static_cast<int>(statements_.size()); ++i) {
      if (statement(i).form != LaidStatement::Form::pair) break;
      last = i;
    }
    if (last >= 0) {
      insert_lines(statement(last).line.end, line(indentation(last), pair));
      return;
    }
    // At the root, before the first header, with nothing there yet.
    const std::size_t place = block_end(statements_, -1, text_);
    insert_lines(place, line("", pair) + (place < text_.size() ? newline_ : ""));
  }

  static bool begins_with(const std::vector<std::string>& key, const std::vector<std::string>& start) {
    return key.size() >= start.size() && std::equal(start.begin(), start.end(), key.begin());
  }
  /// The header of the table that holds `at`: its steps without the indices of lists.
  [[nodiscard]] std::vector<std::string> header_key(const Steps& at) const {
    return table_key(Steps(at.begin(), at.end() - 1));
  }
  [[nodiscard]] std::vector<std::string> table_key(const Steps& at) const {
    std::vector<std::string> out;
    const LaidItem* item = &tree_;
    for (const std::string& step : at) {
      if (item != nullptr && item->form == LaidItem::Form::list) {
        item = &item->elements[*pointer_index(step)];
        continue;
      }
      out.push_back(step);
      if (item != nullptr) item = item->find(step);
    }
    return out;
  }
  static std::string header_text(const std::vector<std::string>& key) {
    std::string out;
    for (const std::string& part : key) out += (out.empty() ? "" : ".") + toml_key(part);
    return out;
  }

  /// "[a.b]" with its pairs, as lines.
  [[nodiscard]] std::string table_lines(const std::vector<std::string>& key, const Node& table, bool element,
                                        const std::vector<std::string>& headed) const {
    std::string out = line("", element ? "[[" + header_text(key) + "]]" : "[" + header_text(key) + "]");
    std::string later;
    for (const Entry& e : table.entries) {
      const std::string inline_text = toml_text(e.value);
      const bool own_header =
          e.value.kind == Node::Kind::table &&
          (inline_text.size() > kLongestInline || std::find(headed.begin(), headed.end(), e.key) != headed.end());
      if (own_header) {
        std::vector<std::string> inner = key;
        inner.push_back(e.key);
        later += table_lines(inner, e.value, false, {});
      } else {
        out += line("", toml_key(e.key) + " = " + inline_text);
      }
    }
    return out + later;
  }

  void add_header(const Steps& at, const LaidItem& parent, const Node& value) {
    std::size_t place = text_.size();
    bool apart = true;  // a blank line before it
    if (at.size() == 1) {
      // Before the lists of tables, which mostly fill the rest of the file.
      for (const LaidStatement& s : statements_) {
        if (s.form != LaidStatement::Form::list_header) continue;
        place = s.block_begin;
        break;
      }
    } else {
      place = end_of_tables(parent);
      apart = false;
    }
    insert_block(place, table_lines(table_key(at), value, false, {}), apart);
  }

  /// End of the lines of a table and all tables below it, blank lines behind them left out.
  [[nodiscard]] std::size_t end_of_tables(const LaidItem& item) const {
    std::vector<int> all;
    collect(item, all);
    int last = -1;
    for (const int i : all) last = std::max(last, i);
    if (last < 0) return text_.size();
    for (int i = last + 1; i < static_cast<int>(statements_.size()); ++i) {
      if (statement(i).form != LaidStatement::Form::pair) break;
      last = i;
    }
    return statement(last).line.end;
  }

  void insert_block(std::size_t place, std::string lines, bool apart) {
    const bool at_end = place >= text_.size();
    if (apart && at_end && !text_.empty()) {
      const bool blank = text_.size() >= 2 && text_[text_.size() - 1] == '\n' &&
                         (text_[text_.size() - 2] == '\n' || text_.ends_with("\n\r\n"));
      if (!blank) lines = newline_ + lines;
    }
    if (apart && !at_end) lines += newline_;
    insert_lines(place, std::move(lines));
  }

  void append_tables(const Steps& at, const Node& value) {
    const std::vector<Node> items = value.kind == Node::Kind::array ? value.items : std::vector<Node>{value};
    for (const Node& item : items) insert_block(text_.size(), table_lines(table_key(at), item, true, {}), true);
  }

  void insert_element(const Steps& list_at, const LaidItem& list, std::size_t index, const Node& value) {
    if (value.kind != Node::Kind::table) {  // no longer a list of tables: written anew, in brackets
      Node all = read(list_at).value_or(Node{});
      all.items.insert(all.items.begin() + static_cast<std::ptrdiff_t>(index), value);
      remove(list_at);
      add(list_at, all);
      return;
    }
    std::vector<std::string> headed;  // keys that the other elements write with a header of their own
    for (const LaidItem& e : list.elements) {
      for (const LaidItem::Member& m : e.members) {
        if (m.item.form == LaidItem::Form::section && m.item.statement >= 0) headed.push_back(m.key);
      }
    }
    const std::string lines = table_lines(table_key(list_at), value, true, headed);
    if (index < list.elements.size()) {
      insert_block(statement(list.elements[index].statement).block_begin, lines, true);
      return;
    }
    const std::size_t end = end_of_tables(list.elements.back());
    if (end >= text_.size()) {
      insert_block(end, lines, true);
    } else {
      insert_lines(end, newline_ + lines);
    }
  }

  static void collect(const LaidItem& item, std::vector<int>& out) {
    if (item.statement >= 0) out.push_back(item.statement);
    for (const int i : item.dotted) out.push_back(i);
    for (const LaidItem::Member& m : item.members) collect(m.item, out);
    for (const LaidItem& e : item.elements) collect(e, out);
  }

  void remove_tables(const LaidItem& item) {
    std::vector<int> all;
    collect(item, all);
    std::sort(all.begin(), all.end());
    all.erase(std::unique(all.begin(), all.end()), all.end());
    std::vector<Change> changes;
    std::size_t done = 0;  // text before this is gone already
    for (const int i : all) {
      const LaidStatement& s = statement(i);
      Span span = s.line;
      if (s.form != LaidStatement::Form::pair) span = {s.block_begin, block_end(statements_, i, text_)};
      if (span.begin < done) continue;
      done = span.end;
      changes.push_back({span, ""});
    }
    change(std::move(changes));
  }

  void remove_piece(const LaidValue& list, const std::vector<Span>& pieces, std::size_t gone) {
    if (pieces.size() == 1) {
      change({{list.span, list.form == LaidValue::Form::array ? "[]" : "{}"}});
      return;
    }
    // With the comma: of the first ones the one behind, of the last one the one before.
    if (gone + 1 < pieces.size()) {
      change({{{pieces[gone].begin, pieces[gone + 1].begin}, ""}});
      return;
    }
    const Span last = pieces[gone];
    const std::size_t before = pieces[gone - 1].end;
    const std::size_t newline = text_.substr(before, last.begin - before).rfind('\n');
    if (newline == std::string::npos) {
      change({{{before, last.end}, ""}});
      return;
    }
    // On a line of its own: the line goes with what is said about it, and the comments of the others stay.
    const std::size_t comma = comma_between(last.end, list.span.end - 1);
    const std::size_t behind = comma == std::string::npos ? last.end : comma + 1;
    std::size_t end = text_.find_first_not_of(" \t", behind);
    end = text_[end] == '#' ? text_.find_first_of("\r\n", end) : behind;
    std::size_t begin = before + newline;
    if (begin > before && text_[begin - 1] == '\r') --begin;
    std::vector<Change> changes{{{begin, end}, ""}};
    if (comma == std::string::npos) {
      const std::size_t former = comma_between(before, last.begin);
      if (former < begin) changes.push_back({{former, former + 1}, ""});
    }
    change(std::move(changes));
  }

  /// The comma in [from, to), comments skipped; npos when there is none.
  [[nodiscard]] std::size_t comma_between(std::size_t from, std::size_t to) const {
    for (std::size_t i = from; i < to; ++i) {
      if (text_[i] == '#') i = text_.find('\n', i);
      if (i < to && text_[i] == ',') return i;
    }
    return std::string::npos;
  }

  void insert_item(const LaidValue& list, std::size_t index, const std::string& value) {
    if (list.items.empty()) {
      change({{list.span, "[" + value + "]"}});
      return;
    }
    const auto blanks_before = [&](std::size_t i) {
      const std::size_t from = i == 0 ? list.span.begin + 1 : list.items[i - 1].span.end;
      const std::string between = text_.substr(from, list.items[i].span.begin - from);
      const std::size_t newline = between.rfind('\n');
      if (newline == std::string::npos) return std::string(" ");
      return newline_ + between.substr(newline + 1);
    };
    if (index < list.items.size()) {
      const std::size_t begin = list.items[index].span.begin;
      change({{{begin, begin}, value + "," + blanks_before(index)}});
      return;
    }
    const std::string blanks = blanks_before(list.items.size() - 1);
    const std::size_t end = list.items.back().span.end;
    const std::string rest = text_.substr(end, list.span.end - 1 - end);
    const std::size_t comma = comma_between(end, list.span.end - 1);
    const std::size_t comment = rest.find('#');
    const bool trailing_comma = comma != std::string::npos;
    if (comment == std::string::npos) {
      const std::size_t place = trailing_comma ? comma + 1 : end;
      change({{{place, place}, trailing_comma ? blanks + value + "," : "," + blanks + value}});
      return;
    }
    // A comment behind the last element stays with it.
    const std::size_t next_line = end + rest.find('\n', comment);
    const std::string added = blanks.substr(blanks.rfind('\n') + 1) + value + (trailing_comma ? "," : "") + newline_;
    std::vector<Change> changes{{{next_line + 1, next_line + 1}, added}};
    if (!trailing_comma) changes.push_back({{end, end}, ","});
    change(std::move(changes));
  }

  std::string text_;
  std::string newline_;
  std::vector<LaidStatement> statements_;
  LaidItem tree_;
};

/// The edit with "-" spelled as an index, checked against the tree before it is applied there.
std::optional<Edit> settled(const Node& root, Edit edit, Diagnostics& d) {
  if (edit.op == Edit::Op::insert && edit.at.ends_with("/-")) {
    const std::string_view parent = std::string_view(edit.at).substr(0, edit.at.size() - 2);
    const auto steps = pointer_steps(parent);
    const Node* at = &root;
    for (std::size_t i = 0; steps && at != nullptr && i < steps->size(); ++i) {
      const auto index = pointer_index((*steps)[i]);
      at = at->kind == Node::Kind::table                                         ? at->find((*steps)[i])
           : at->kind == Node::Kind::array && index && *index < at->items.size() ? &at->items[*index]
                                                                                 : nullptr;
    }
    const std::size_t length = at != nullptr && at->kind == Node::Kind::array ? at->items.size() : 0;
    edit.at = child_path(parent, length);
  }
  Node tried = root;
  if (!apply_edit(tried, edit, d)) return std::nullopt;
  return edit;
}

}  // namespace

std::optional<std::string> edit_toml(std::string_view text, const std::string& file, const std::vector<Edit>& edits,
                                     Diagnostics& d) {
  auto tree = parse_toml(text, file, d);
  if (!tree) return std::nullopt;
  std::string before(text);
  Editor editor(before);
  for (const Edit& told : edits) {
    const auto edit = settled(*tree, told, d);
    if (!edit) return std::nullopt;
    apply_edit(*tree, *edit, d);
    const Steps steps = *pointer_steps(edit->at);
    if (edit->op == Edit::Op::set) {
      editor.set(steps, edit->value);
    } else if (edit->op == Edit::Op::remove) {
      editor.remove(steps);
    } else if (const Steps parent(steps.begin(), steps.end() - 1);
               !steps.empty() && steps.back() == "0" && editor.is_new(parent)) {
      Node list;
      list.kind = Node::Kind::array;
      list.items.push_back(edit->value);
      editor.set(parent, list);
    } else {
      editor.insert(steps, edit->value);
    }
    Diagnostics own;
    const auto now = parse_toml(editor.text(), file, own);
    const bool emptied = !now && tree->entries.empty();
    if (!emptied && (!now || !same_value(*now, *tree))) {
      d.error("edit.not_writable", {}, edit->at, "this change cannot be written into the text as it stands",
              "change it in the text itself");
      return std::nullopt;
    }
    if (now) tree = now;
  }
  return editor.text();
}

}  // namespace document
