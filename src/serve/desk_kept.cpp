// What is kept in the project's folder beside the project: variants, pictures, the points of the trace.
#include <fmt/format.h>
#include <sys/stat.h>

#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/save_file.h"
#include "base/text.h"
#include "document/toml_reader.h"
#include "report/json.h"
#include "serve/desk.h"
#include "serve/json.h"
#include "serve/library.h"

namespace serve {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;
using document::Node;

constexpr std::size_t kMostTraceBytes = 4'000'000;
constexpr std::size_t kMostPictureBytes = 20'000'000;

Reply nothing_open() {
  return Reply::problem(404, "no project is open", "open one first.");
}

/// FNV-1a, 64 bits (Fowler, Noll, Vo; offset and prime from memory): tells texts apart, protects nothing.
std::string fingerprint(std::string_view text) {
  std::uint64_t hash = 14695981039346656037ULL;
  for (const char c : text) hash = (hash ^ static_cast<unsigned char>(c)) * 1099511628211ULL;
  return fmt::format("{:016x}", hash);
}

Node text_node(std::string text) {
  Node out;
  out.kind = Node::Kind::text;
  out.text = std::move(text);
  return out;
}

std::optional<Reply> saved(const fs::path& file, std::string_view bytes, const std::string& previous = {}) {
  std::error_code error;
  fs::create_directories(file.parent_path(), error);
  const std::string problem = error ? error.message() : base::save_file(file.string(), bytes, previous);
  if (problem.empty()) return std::nullopt;
  return Reply::problem(422, "this cannot be kept", file.string() + ": " + problem);
}

/// One line of what a variant's design was.
std::string summary_of(const design::Result& r) {
  if (!r.feasible()) return "no design: " + report::status_of(r);
  std::string out = fmt::format("worst margin {}", base::plain(r.allocated->worst_margin, 3));
  if (r.assessed) {
    out += fmt::format(", {} g, {} parts left", base::plain(r.assessed->mass_g, 4), r.assessed->parts_left);
  }
  return out;
}

/// A kept variant: <id>.toml says what it was, <id>.project.toml is the project's text. Nothing when it has no text. A
/// damaged one is told as such: its text is still the user's.
std::optional<Json> read_variant(const fs::path& folder, const std::string& id) {
  std::error_code error;
  if (!fs::exists(folder / (id + ".project.toml"), error)) return std::nullopt;
  document::Diagnostics d;
  const auto text = document::read_text_file((folder / (id + ".project.toml")).string(), document::kMostTomlBytes, d);
  const auto node = document::read_toml((folder / (id + ".toml")).string(), d);
  const auto word = [&](const char* key) {
    const Node* n = node ? node->find(key) : nullptr;
    return n != nullptr && n->kind == Node::Kind::text ? n->text : std::string();
  };
  const Node* picks = node ? node->find("picks") : nullptr;
  std::string summary = word("summary");
  for (const document::Diagnostic& told : d.sorted()) {
    if (told.severity == document::Severity::error) summary = "damaged: " + document::text_of(told);
  }
  return Json{
      {"id", id},
      {"note", word("note")},
      {"revision_hash", word("revision_hash")},
      {"summary", summary},
      {"text", text.value_or("")},
      {"picks", picks != nullptr && picks->kind == Node::Kind::table ? report::json_of(*picks) : Json::object()}};
}

bool is_picture_name(const std::string& name) {
  const std::size_t dot = name.rfind('.');
  if (dot == std::string::npos || !is_plain_name(name.substr(0, dot))) return false;
  const std::string ending = base::lower_ascii(name.substr(dot + 1));
  return ending == "png" || ending == "jpg" || ending == "jpeg";
}

/// By the first bytes of the file (PNG: ISO/IEC 15948, 5.2; JPEG: ISO/IEC 10918-1, B.1: SOI, then a marker).
std::string picture_type(std::string_view bytes) {
  using namespace std::string_view_literals;
  if (bytes.starts_with("\x89PNG\r\n\x1a\n"sv)) return "image/png";
  if (bytes.starts_with("\xff\xd8\xff"sv)) return "image/jpeg";
  return "";
}

Reply bad_picture_name() {
  return Reply::problem(422, "no name for a picture", "use letters, digits, _ and -, and end it in .png or .jpg.");
}

}  // namespace

Reply Desk::variants() {
  const auto now = snapshot();
  if (!now) return nothing_open();
  const fs::path folder = fs::path(now->folder) / "variants";
  std::vector<std::string> ids;
  std::error_code error;
  for (fs::directory_iterator it(folder, error), end; !error && it != end; it.increment(error)) {
    const std::string name = it->path().filename().string();
    constexpr std::string_view kEnding = ".project.toml";
    if (name.ends_with(kEnding)) ids.push_back(name.substr(0, name.size() - kEnding.size()));
  }
  std::sort(ids.begin(), ids.end());
  Json out = Json::array();
  for (const std::string& id : ids) {
    if (auto v = read_variant(folder, id)) out.push_back(std::move(*v));
  }
  return Reply::json(out);
}

Reply Desk::variant(const std::string& id) {
  const auto now = snapshot();
  if (!now) return nothing_open();
  auto v = is_plain_name(id) ? read_variant(fs::path(now->folder) / "variants", id) : std::nullopt;
  if (!v) return Reply::problem(404, "no such variant", fmt::format("there is no variant {}.", document::quoted(id)));
  return Reply::json(*v);
}

Reply Desk::keep_variant(const VariantRequest& request) {
  const auto now = snapshot();
  if (!now) return nothing_open();
  const auto computed = runner_.latest();
  if (!computed || computed->revision != now->revision) {
    return Reply::problem(409, "no design of this revision yet", "wait until its design is computed, then keep it.");
  }
  const design::Result& r = *computed->result;
  std::string text = "note = " + document::toml_text(text_node(request.note)) +
                     "\nrevision_hash = " + document::toml_text(text_node(fingerprint(now->text))) +
                     "\nsummary = " + document::toml_text(text_node(summary_of(r))) + "\n\n[picks]\n";
  for (std::size_t f = 0; f < r.functions.size(); ++f) {
    const candidate::Candidate* c = r.chosen(f);
    if (c == nullptr) continue;
    text += document::toml_key(r.functions[f].id) + " = " + document::toml_text(text_node(c->key)) + "\n";
  }
  const fs::path folder = fs::path(now->folder) / "variants";
  const std::lock_guard lock(variant_mutex_);
  std::error_code ignored;
  int number = 1;
  const auto id = [&] { return fmt::format("v{:03}", number); };
  while (fs::exists(folder / (id() + ".toml"), ignored) || fs::exists(folder / (id() + ".project.toml"), ignored))
    ++number;
  // The project's text last: a variant is listed once it is complete.
  if (auto fault = saved(folder / (id() + ".toml"), text)) return *fault;
  if (auto fault = saved(folder / (id() + ".project.toml"), now->text)) return *fault;
  return variant(id());
}

Reply Desk::drop_variant(const std::string& id) {
  Reply out = variant(id);
  if (out.status != 200) return out;
  const auto now = snapshot();
  if (!now) return nothing_open();
  const fs::path folder = fs::path(now->folder) / "variants";
  std::error_code error;
  fs::remove(folder / (id + ".project.toml"), error);
  if (!error) fs::remove(folder / (id + ".toml"), error);
  if (error) return Reply::problem(422, "this variant cannot be removed", error.message());
  return out;
}

Reply Desk::picture(const std::string& name) {
  const auto now = snapshot();
  if (!now) return nothing_open();
  if (!is_picture_name(name)) return bad_picture_name();
  document::Diagnostics d;
  auto bytes = document::read_text_file((fs::path(now->folder) / "pictures" / name).string(), kMostPictureBytes, d);
  const std::string type = bytes ? picture_type(*bytes) : "";
  if (type.empty()) return Reply::problem(404, "no such picture", fmt::format("there is no picture {}.", name));
  return Reply::text(std::move(*bytes), type);
}

Reply Desk::keep_picture(const std::string& name, const std::string& bytes) {
  const auto now = snapshot();
  if (!now) return nothing_open();
  if (!is_picture_name(name)) return bad_picture_name();
  if (bytes.size() > kMostPictureBytes) {
    return Reply::problem(413, "too large a picture", fmt::format("at most {} bytes are kept.", kMostPictureBytes));
  }
  if (picture_type(bytes).empty()) return Reply::problem(422, "no picture", "send a PNG or JPEG file.");
  if (auto fault = saved(fs::path(now->folder) / "pictures" / name, bytes)) return *fault;
  return Reply::json({{"name", name}, {"bytes", bytes.size()}});
}

Reply Desk::trace() {
  const auto now = snapshot();
  if (!now) return nothing_open();
  document::Diagnostics silent;
  const auto text =
      document::read_text_file((fs::path(now->folder) / "pictures" / "trace.json").string(), kMostTraceBytes, silent);
  return Reply::text(text.value_or("{}"), "application/json");
}

Reply Desk::keep_trace(const std::string& text) {
  const auto now = snapshot();
  if (!now) return nothing_open();
  if (text.size() > kMostTraceBytes) {
    return Reply::problem(413, "too long a trace", fmt::format("at most {} bytes are kept.", kMostTraceBytes));
  }
  document::Diagnostics d;
  // Unlike a project it may hold null: the points are the page's own business. It only has to be JSON, and not too
  // deep.
  if (!is_json_object(text)) return Reply::problem(422, "no trace", "send an object as JSON text.");
  const fs::path file = fs::path(now->folder) / "pictures" / "trace.json";
  if (auto fault = saved(file, text, file.string() + ".previous")) return *fault;
  return Reply::json({{"bytes", text.size()}});
}

}  // namespace serve
