// schema/server.schema.json: requests from the tables that read them, answers as documented here. The tests hold live
// answers against it.
#include <nlohmann/json.hpp>

#include "document/schema.h"
#include "serve/requests.h"
#include "serve/server.h"

namespace serve {
namespace {

using document::FieldDoc;
using Json = nlohmann::ordered_json;
using Type = FieldDoc::Type;

FieldDoc said(const char* key, Type type, const char* doc, std::vector<FieldDoc> children = {}) {
  FieldDoc out;
  out.key = key;
  out.type = type;
  out.doc = doc;
  out.required = true;
  out.children = std::move(children);
  return out;
}

FieldDoc maybe(FieldDoc field) {
  field.required = false;
  return field;
}

FieldDoc choice(const char* key, const char* doc, std::vector<std::string> choices) {
  FieldDoc out = said(key, Type::choice, doc);
  out.choices = std::move(choices);
  return out;
}

std::vector<FieldDoc> problem_fields() {
  return {choice("severity", "an error stops the design", {"error", "warning"}),
          said("code", Type::text, "stable name of the problem"),
          said("at", Type::text, "JSON pointer into the project; empty = the text or another file as a whole"),
          said("file", Type::text, "the file it is in"),
          said("line", Type::integer, "from 1; 0 = the file as a whole"),
          said("column", Type::integer, "in characters from 1"),
          said("message", Type::text, "what was found and what is allowed"),
          said("hint", Type::text, "what to try; may be empty")};
}

FieldDoc problems() {
  return said("problems", Type::tables, "everything that is wrong, in file order", problem_fields());
}

FieldDoc steps(const char* key, const char* doc) {
  return said(key, Type::table, doc,
              {said("count", Type::integer, "steps that can be taken"),
               said("label", Type::text, "what the next one changes")});
}

std::vector<FieldDoc> session_fields() {
  const std::vector<FieldDoc> dimension = {
      said("key", Type::text, "name in a request"),
      said("default", Type::text, "a number, or arithmetic over the ones before it"),
      said("unit", Type::text, "unit"),
      said("summary", Type::text, "what it measures"),
      said("minimum", Type::number, "least that makes sense"),
      said("maximum", Type::number, "most that makes sense")};
  return {said("version", Type::text, "of the program"),
          said("open", Type::boolean, "a project is open"),
          said("folder", Type::text, "where it is"),
          said("name", Type::text, "what the model is called"),
          said("revision", Type::integer, "goes up with every change"),
          said("saved", Type::boolean, "the file holds this text; false = it was changed outside"),
          steps("undo", "steps back"),
          steps("redo", "steps forward again"),
          said("log", Type::text_list, "every change that undo can take back, the newest last"),
          said("pitch_mm", Type::number, "of the kit system; 0 until a design of a sound project was made"),
          said("event", Type::integer, "number of the newest event"),
          said("examples", Type::tables, "projects that came with the program",
               {said("id", Type::text, "name in a request"), said("title", Type::text, "for people"),
                said("summary", Type::text, "what it does")}),
          said("archetypes", Type::tables, "what a new project can be like",
               {said("id", Type::text, "name in a request"), said("title", Type::text, "for people"),
                said("summary", Type::text, "what it does"), said("systems", Type::text_list, "kit systems it suits"),
                said("dimensions", Type::tables, "what is asked; all may be left out", dimension)})};
}

std::vector<FieldDoc> job_fields() {
  return {said("id", Type::integer, "number of the job"),
          choice("what", "what is computed", {"design"}),
          said("revision", Type::integer, "of the project"),
          choice("state", "where it is", {"waiting", "running", "done", "stopped", "failed"}),
          said("progress", Type::table, "how far it is",
               {said("stage", Type::text, "what is being done"), said("done", Type::integer, "of total"),
                said("total", Type::integer, "0 = not known"), said("text", Type::text, "for people")}),
          said("message", Type::text, "why it stopped or failed")};
}

std::vector<FieldDoc> row_fields() {
  return {said("row", Type::integer, "among the rows that are not blank, the head included"),
          said("line", Type::integer, "of the file"),
          said("text", Type::text, "description as in the list"),
          said("code", Type::text, "the list's own code"),
          said("colour", Type::text, "as in the list"),
          said("count", Type::integer, "pieces"),
          said("state", Type::text, "told, matched, doubtful, unmatched or faulty"),
          said("part", Type::any, "id of the part class or null"),
          said("confidence", Type::number, "0 to 1"),
          said("alternatives", Type::tables, "what it could be, best first",
               {said("part", Type::text, "id of the part class"), said("confidence", Type::number, "0 to 1")})};
}

std::vector<FieldDoc> stock_fields() {
  return {said("revision", Type::any, "of the design that tells what is used; null = there is none for this list"),
          said("rows", Type::tables, "what the kit holds",
               {said("name", Type::text, "for people"), said("part", Type::text, "id of the part class"),
                said("colour", Type::text, "empty = not said"), said("count", Type::integer, "pieces"),
                said("used", Type::integer, "by functions and supply"), said("reserved", Type::integer, "kept back"),
                said("left", Type::integer, "neither"),
                said("takers", Type::tables, "which function takes how many",
                     {said("function", Type::text, "id"), said("count", Type::integer, "pieces")})}),
          said("doubtful", Type::tables, "rows that do not count until their class is told", row_fields()),
          said("unknown", Type::tables, "rows that nothing is like", row_fields()),
          said("faulty", Type::tables, "rows whose count or class cannot be read", row_fields()),
          said("file", Type::text, "of the list"),
          said("kit_system", Type::text, "id"),
          said("csv", Type::text, "the list as it stands"),
          said("columns", Type::text, "their meanings as told; empty = found by their heads"),
          said("found_columns", Type::any, "meaning -> column, head and how it was found"),
          problems()};
}

std::vector<FieldDoc> variant_fields() {
  return {said("id", Type::text, "name of its files in variants/"),
          said("note", Type::text, "why it is kept"),
          said("revision_hash", Type::text, "tells project texts apart"),
          said("summary", Type::text, "worst margin, mass, parts left"),
          said("text", Type::text, "the project file"),
          said("picks", Type::any, "function -> key of its candidate")};
}

std::vector<FieldDoc> dossier_fields() {
  const auto pages = [](const char* doc) {
    return std::vector<FieldDoc>{said("a4", Type::integer, doc), said("letter", Type::integer, doc)};
  };
  std::vector<FieldDoc> chapter = pages("page it starts on; 0 = not on paper");
  chapter.insert(chapter.begin(), {said("text", Type::text, "its heading"),
                                   said("anchor", Type::text, "id of the heading in dossier.html"),
                                   said("level", Type::integer, "1 or 2")});
  return {said("revision", Type::integer, "of the project it was made from"),
          said("language", Type::text, "as asked for"),
          said("title", Type::text, "what the model is called"),
          said("hash", Type::text, "of project, stock and measurements"),
          said("told_revision", Type::text, "as the project tells it; empty = not told"),
          said("pages", Type::table, "how many, by paper", pages("pages")),
          said("figures", Type::integer, "drawings"),
          said("moving", Type::integer, "pictures on its page that move"),
          said("chapters", Type::tables, "its headings, in order", std::move(chapter)),
          said("files", Type::tables, "what can be had below /api/dossier/files/",
               {said("name", Type::text, "may lie in figures/"), said("bytes", Type::integer, "its size")})};
}

FieldDoc vehicle() {
  return said("vehicle", Type::any,
              "{belt, gauge_mm, speed_mm_s, pull_n (0 = not known), wheels, rockers, underside_mm} from the side, "
              "x forward, z up from the ground it stands on; null = it does not drive");
}

std::vector<FieldDoc> trial_fields() {
  return {said("revision", Type::integer, "of the project"),
          said("engine", Type::text, "name and version, or how to get it"),
          said("present", Type::boolean, "the program was built with the engine"),
          said("drives", Type::boolean, "it can be driven over courses"),
          said("why_not", Type::text, "it cannot"),
          said("lifts", Type::boolean, "loads are tried that tip it"),
          said("courses", Type::tables, "ground to drive over",
               {said("course", Type::text, "name in a request"), said("size", Type::text, "what its size is called"),
                said("unit", Type::text, "of the size"), said("most", Type::number, "largest size")}),
          said("friction", Type::any, "{low, nominal, high} of the project; null = it does not drive"),
          vehicle()};
}

std::vector<FieldDoc> frame_fields() {
  return {said("time_s", Type::number, "since the drive began"),
          said("x_mm", Type::number, "place of the vehicle's frame"),
          said("y_mm", Type::number, "to the left of where it started"),
          said("z_mm", Type::number, "its height"),
          said("yaw_deg", Type::number, "turned left"),
          said("roll_deg", Type::number, "left side up"),
          said("pitch_deg", Type::number, "nose up"),
          said("rocker_deg", Type::any, "of every rocking pair against the hull"),
          said("speed_mm_s", Type::number, "of the drive at the ground"),
          said("pull_n", Type::number, "that the drive gives there"),
          said("contacts", Type::integer, "with the ground"),
          said("underside", Type::boolean, "it touches"),
          said("joint_deg", Type::any, "of every body, in the project's order; empty = one hull"),
          said("steer_deg", Type::number, "of the inner steered wheel, left positive"),
          said("hook_mm", Type::any, "[x, y, z] of the hook point; null = nothing hangs"),
          said("load_mm", Type::any, "[x, y, z] of the load's middle"),
          said("input", Type::integer, "number of the newest input that it obeys"),
          said("late_s", Type::number, "behind the clock"),
          said("end", Type::text, "why it is over; empty = it goes on")};
}

std::vector<FieldDoc> offer() {
  return {said("id", Type::text, "of the function"),
          said("kept", Type::integer, "candidates, near misses among them"),
          said("meet_all", Type::integer, "those that reach every figure"),
          choice("which", "candidate the margins are of; \"same\" as in the design before, \"best\" on its own",
                 {"chosen", "same", "best", "none"}),
          said("title", Type::text, "of that candidate"),
          said("worst_margin", Type::any, "its least ratio; null = none"),
          said("margins", Type::any, "as in result.schema.json, without intervals")};
}

struct Message {
  const char* name;
  const char* doc;
  std::vector<FieldDoc> fields;
};

std::vector<Message> messages() {
  const FieldDoc revision = said("revision", Type::integer, "of the project");
  return {
      {"OpenRequest", "POST /api/open: one of folder, example and like", fields<OpenRequest>().docs()},
      {"EditsRequest", "POST /api/edits", fields<EditsRequest>().docs()},
      {"TextRequest", "PUT /api/text", fields<TextRequest>().docs()},
      {"ReloadRequest", "POST /api/reload", fields<ReloadRequest>().docs()},
      {"StockRequest", "PUT /api/stock", fields<StockRequest>().docs()},
      {"VariantRequest", "POST /api/variants", fields<VariantRequest>().docs()},
      {"ScaleRequest", "POST /api/scale", fields<ScaleRequest>().docs()},
      {"TrialRequest", "POST /api/trial/course and /api/trial/live", fields<TrialRequest>().docs()},
      {"LiftRequest", "POST /api/trial/lift", fields<LiftRequest>().docs()},
      {"StickRequest", "POST /api/trial/live/ID/stick", fields<StickRequest>().docs()},
      {"ScaleState",
       "GET /api/scale",
       {choice("state", "where it is", {"none", "running", "done", "failed"}),
        said("share", Type::number, "of the work, 0 to 1"), said("text", Type::text, "what is being done"), revision,
        said("study", Type::any, "what \"scale --json\" prints; null until it is done")}},
      {"Session", "GET /api/session", session_fields()},
      {"Project",
       "GET /api/project",
       {revision, said("text", Type::text, "the file"), said("document", Type::any, "the file as JSON"), problems()}},
      {"Edited",
       "answer to a change",
       {revision, problems(), steps("undo", "steps back"), steps("redo", "steps forward again")}},
      {"Job", "element of GET /api/jobs; data of the event \"progress\"", job_fields()},
      {"MarginsEvent",
       "data of the event \"margins\": what is known before the design is done",
       {said("job", Type::integer, "that computes it"), revision,
        said("settled", Type::boolean, "candidates are chosen and stay so; otherwise parts are not allotted yet"),
        said("functions", Type::tables, "all when settled, otherwise those whose search has just ended", offer())}},
      {"ResultEvent",
       "data of the event \"result\"",
       {said("job", Type::integer, "that computed it"), revision, said("status", Type::text, "as in the design"),
        said("feasible", Type::boolean, "there is a design")}},
      {"ProjectEvent", "data of the event \"project\"", {revision}},
      {"Result", "GET /api/result", {revision, said("design", Type::any, "see result.schema.json")}},
      {"Languages",
       "GET /api/dossier/languages",
       {said("languages", Type::tables, "that a dossier can be had in",
             {said("code", Type::text, "name in a request"), said("name", Type::text, "in the language itself")})}},
      {"Dossier", "GET /api/dossier", dossier_fields()},
      {"TrialGround", "GET /api/trial", trial_fields()},
      {"CourseTrial",
       "answer to POST /api/trial/course",
       {revision, vehicle(), said("trial", Type::any, "what \"trial --course --json\" prints")}},
      {"TrialFigures",
       "answer to POST /api/trial/figures",
       {revision, said("trial", Type::any, "what \"trial --json\" prints")}},
      {"LiftTrial",
       "answer to POST /api/trial/lift",
       {revision, said("trial", Type::any, "what \"trial --task lift --json\" prints"),
        said("drawing", Type::text, "its strip, SVG; empty = nothing was lifted")}},
      {"LiveTrial",
       "answer to POST /api/trial/live",
       {said("id", Type::integer, "name of the drive in further requests"),
        said("course", Type::text, "what it stands before"), said("friction", Type::number, "of every contact"),
        said("ground_mm", Type::any, "[[x, z]]; level beyond both ends"),
        said("across_deg", Type::number, "the ground falls to the right by"),
        said("sticks", Type::tables, "what moves besides driving along",
             {said("does", Type::text, "key of a stick request: steer, slew, luff, stage, hoist"),
              said("name", Type::text, "of the drive"), said("plus", Type::text, "what 1 does"),
              said("minus", Type::text, "what -1 does")}),
        vehicle()}},
      {"LiveFrame", "data of the event \"frame\" of GET /api/trial/live/ID/frames", frame_fields()},
      {"Stock", "GET /api/stock", stock_fields()},
      {"Variant", "GET /api/variants/ID and element of GET /api/variants", variant_fields()},
      {"Picture",
       "answer to PUT /api/pictures/NAME",
       {said("name", Type::text, "as told"), said("bytes", Type::integer, "kept")}},
      {"Refusal",
       "every answer from 400 on",
       {said("problem", Type::table, "why",
             {said("status", Type::integer, "of the answer"), said("title", Type::text, "in a few words"),
              said("detail", Type::text, "what to do"), maybe(said("at", Type::text, "JSON pointer"))}),
        maybe(problems()), maybe(said("revision", Type::integer, "the present one, when an older one was meant")),
        maybe(said("outside", Type::boolean, "the file was changed by another program"))}},
  };
}

/// Limits of length guard files that people write; answers hold whole files.
void drop_lengths(Json& schema) {
  if (schema.is_object()) {
    schema.erase("maxLength");
    schema.erase("maxItems");
  }
  for (Json& inner : schema) {
    if (inner.is_structured()) drop_lengths(inner);
  }
}

}  // namespace

std::string server_schema() {
  Json definitions = Json::object();
  for (const Message& m : messages()) {
    Json one = Json::parse(document::json_schema(m.name, m.doc, m.fields));
    one.erase("$schema");
    drop_lengths(one);
    definitions[m.name] = std::move(one);
  }
  const Json out = {{"$schema", "https://json-schema.org/draft/2020-12/schema"},
                    {"title", "Kitwright server"},
                    {"description", "What the workbench's page and server say to each other."},
                    {"$defs", std::move(definitions)}};
  return out.dump(2) + "\n";
}

}  // namespace serve
