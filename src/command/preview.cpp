#include <cmath>
#include <filesystem>
#include <future>

#include "burstloom/coil/current_table.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/listen/sound_file.hpp"
#include "burstloom/preview/loudness.hpp"
#include "burstloom/preview/picture.hpp"
#include "burstloom/preview/plain_tones.hpp"
#include "burstloom/preview/report.hpp"
#include "burstloom/preview/sound_sketch.hpp"
#include "burstloom/preview/timeline.hpp"
#include "burstloom/score/midi.hpp"
#include "burstloom/tables/tables.hpp"
#include "command_line.hpp"
#include "terminal.hpp"

namespace burstloom::command {
namespace {

struct PreviewOptions {
  std::string input, out, source, sound, image;
  CoilChoice coil;
  bool no_audio = false;
  CaptureOptions capture;
  LevelOptions level;
  bool json = false, keep_silence = false, force = false;
};

// Energies by the coil's model where it has one, else by on-time alone.
BurstEnergy energy_of(const JudgedInput& input) {
  const BurstStream& stream = input.source.file.stream;
  const auto current = current_table(input.coil.profile);
  if (!current->has_model()) return energy_from_on_time(stream.tick_hz);
  std::vector<double> joules;
  joules.reserve(stream.bursts.size());
  for (const Burst& burst : stream.bursts)
    joules.push_back(current->figures(stream.microseconds(burst.on)).energy_j);
  return energy_by_index(std::move(joules));
}

// Without its silent ends unless they were woven too, so that both begin together.
Sound source_sound(const PreviewOptions& options) {
  if (!looks_like_sound(options.source)) return plain_tones(read_midi_score(options.source));
  return held(Recording(options.source, options.keep_silence));
}

// In a thread of its own; where none is to be had, when it is asked for.
constexpr std::launch kBeside = std::launch::async | std::launch::deferred;

using Spectrograms = std::vector<NamedSpectrogram>;

std::string drawn(const PreviewOptions& options, const JudgedInput& input, const Judgement& judgement,
                  const Spectrograms& spectrograms) {
  const BurstStream& stream = input.source.file.stream;
  PictureContent content{input.source.file.title, judgement, {}, spectrograms};
  content.timeline =
      make_timeline(stream, input.coil.profile, judgement, {.until = stream.length, .columns = 1200});
  return picture(content, picture_kind(options.image));
}

// What a table of the stream would take on each target. An outside-limits stream is measured all the same.
std::vector<ReportTable> tables_of(const JudgedInput& input, const Judgement& judgement) {
  std::vector<ReportTable> tables;
  const TableInput table{input.source.file.stream, input.source.file.title, input.coil.profile,
                         judgement.rest_before_repeat_s.value_or(0), input.source.file.account};
  const Tables made(table);
  for (const Target& target : targets()) {
    ReportTable row{.target = target.name, .chip = target.chip};
    try {
      const TableFit fit = fit_of(made, target);
      row.table_bytes = fit.table_bytes;
      row.flash_used = fit.flash_used;
      row.flash_of = fit.flash_of;
      row.fits_until_s = fit.fits_until_s;
    } catch (const Error& refused) {
      row.refused = refused.what();
    }
    tables.push_back(row);
  }
  return tables;
}

std::vector<float> all_samples(SoundSketch& sketch) {
  std::vector<float> samples(static_cast<std::size_t>(sketch.samples()));
  sketch.rewind();
  samples.resize(sketch.read(samples));
  return samples;
}

double gain_to(double loudness_lufs, const Sound& sound) {
  LoudnessMeter meter(1, sound.rate_hz, false);
  meter.add(sound.samples);
  const auto loudness = meter.integrated_lufs();
  float highest = 0;
  for (const float sample : sound.samples) highest = std::max(highest, std::abs(sample));
  if (!loudness || !(highest > 0)) return 1;
  return std::min(std::pow(10, (loudness_lufs - *loudness) / 20), 0.9 / static_cast<double>(highest));
}

// What is worked out beside the sketch's level, where there is a second core.
struct Figures {
  Spectrum gate;
  EnergyCurves curves;
  Spectrogram sketch;  // at gain 1
};

Figures figures_of(const JudgedInput& input) {
  const BurstStream& stream = input.source.file.stream;
  SoundSketch sketch(stream, energy_of(input));
  return {stream.bursts.empty() ? Spectrum{} : gate_spectrum(stream),
          energy_curves(stream, input.coil.profile, 4000), spectrogram(sketch, 1.0)};
}

Spectrogram louder(Spectrogram shown, double gain) {
  const double db = 20 * std::log10(gain);
  for (float& cell : shown.db) cell = static_cast<float>(std::max(kFloorDb, static_cast<double>(cell) + db));
  return shown;
}

std::vector<ReportSound> sounds_of(const PreviewOptions& options, SoundSketch& sketch, double gain,
                                   const std::optional<Sound>& source) {
  std::vector<ReportSound> sounds;
  if (options.no_audio) return sounds;
  std::future<ReportSound> encoded;
  if (source)
    encoded = std::async(kBeside, [&] {
      return report_sound("source", source->samples, source->rate_hz,
                          gain_to(options.level.loudness_lufs, *source));
    });
  if (sketch.samples() > 0)
    sounds.push_back(report_sound("sound sketch", all_samples(sketch), sketch.rate_hz(), gain));
  if (source) sounds.insert(sounds.begin(), encoded.get());
  return sounds;
}

std::string page_of(const std::string& input_file, const JudgedInput& input, const Judgement& judgement,
                    Figures figures, std::vector<ReportSound> sounds, Spectrograms spectrograms) {
  const BurstFile& file = input.source.file;
  Json check = command::to_json(judgement, file.stream);
  if (!file.account.empty()) check["notes"] = command::to_json(note_sums(file.account));
  check["judged_by"] = command::to_json(input.coil);
  const ReportContent content{.title = file.title,
                              .limits = limits_line(input.coil),
                              .source = std::filesystem::path(input_file).filename().string(),
                              .stream = file.stream,
                              .account = file.account,
                              .profile = input.coil.profile,
                              .judgement = judgement,
                              .check_json = check.dump(-1, ' ', false, Json::error_handler_t::replace),
                              .effects = burst_effects(file.stream, input.coil.profile, is_measured(input)),
                              .curves = std::move(figures.curves),
                              .gate = std::move(figures.gate),
                              .spectrograms = std::move(spectrograms),
                              .sounds = std::move(sounds),
                              .tables = tables_of(input, judgement)};
  return report(content);
}

void preview(const PreviewOptions& options, Answer& answer) {
  if (options.out.empty() && options.sound.empty() && options.image.empty())
    throw Error(Fault::usage, "nothing to make", "",
                "give --out REPORT.html, --sound FILE.wav or --image FILE.png");
  require_nothing_lost({options.input, options.coil.file, options.source},
                       {{options.out, OutputKind::report},
                        {options.sound, OutputKind::sound},
                        {options.image, OutputKind::picture}},
                       options.force);
  Progress progress(4);
  progress.next("reading");
  const JudgedInput input = read_judged_input(options.input, options.coil, options.capture);
  progress.next("judging");
  const Judgement judgement = judge_input(input, std::nullopt);
  progress.next("sketching the sound");
  const bool looks = !options.out.empty() || !options.image.empty();
  std::future<Figures> beside;
  if (looks) beside = std::async(kBeside, figures_of, std::cref(input));
  std::optional<Sound> source;
  if (!options.source.empty()) source = source_sound(options);
  SoundSketch sketch(input.source.file.stream, energy_of(input));
  LevelOptions wanted = options.level;
  wanted.measure_true_peak = !options.sound.empty();
  FilesTogether files;
  const SketchLevel level =
      options.sound.empty() ? level_for(sketch, wanted) : write_sketch(sketch, wanted, options.sound, files);
  progress.next("drawing");
  if (looks) {
    Figures figures = beside.get();
    Spectrograms spectrograms;
    if (source) spectrograms.push_back({"source", spectrogram(*source)});
    spectrograms.push_back({"sound sketch", louder(std::move(figures.sketch), level.gain)});
    if (!options.image.empty()) files.add(options.image, drawn(options, input, judgement, spectrograms));
    if (!options.out.empty())
      files.add(options.out,
                page_of(options.input, input, judgement, std::move(figures),
                        sounds_of(options, sketch, level.gain, source), std::move(spectrograms)));
  }
  files.place();
  progress.done();
  answer.exit_code = judgement.verdict == Verdict::within_limits ? 0 : 1;
  if (options.json) {
    Json json = command::to_json(judgement, input.source.file.stream);
    json["judged_by"] = command::to_json(input.coil);
    json["sound"] = {{"loudness_lufs", level.loudness_lufs ? Json(*level.loudness_lufs) : Json()},
                     {"true_peak_dbtp", level.true_peak_dbtp ? Json(*level.true_peak_dbtp) : Json()}};
    return print_json(json);
  }
  print(one_line(judgement) + "\n" + indented(whose_limits(input.coil, judgement.not_judged)));
  if (level.loudness_lufs)
    print("  sound sketch: " + figure(*level.loudness_lufs) + " LUFS" +
          (level.held_by_peak ? ", held down by its peaks" : "") + "\n");
  for (const std::string& path : {options.out, options.sound, options.image})
    if (!path.empty()) print("written: " + shown(path) + "\n");
}

}  // namespace

std::string preview_page(const std::string& input_file, const BurstFile& file, const Profile& profile) {
  const JudgedInput input{{file, {}}, {.profile = profile}};
  const Judgement judgement = judge_input(input, std::nullopt);
  SoundSketch sketch(file.stream, energy_of(input));
  const SketchLevel level = level_for(sketch, {});
  Figures figures = figures_of(input);
  Spectrograms spectrograms = {{"sound sketch", louder(std::move(figures.sketch), level.gain)}};
  return page_of(input_file, input, judgement, std::move(figures),
                 sounds_of({}, sketch, level.gain, std::nullopt), std::move(spectrograms));
}

void add_preview(CLI::App& app, Answer& answer) {
  auto* command = app.add_subcommand(
      "preview", "What a stream will do and might sound like: a report to look into, a sound, a picture");
  const auto options = std::make_shared<PreviewOptions>();
  command->add_option("STREAM", options->input, "the stream or capture")->required();
  add_coil_choice(*command, options->coil);
  command->add_option("--out", options->out, "the report to write, one HTML page that needs no network");
  command->add_option(
      "--source", options->source,
      "the song, to see and hear beside the sketch: a sound file, or a MIDI file as plain tones");
  command->add_flag("--keep-silence", options->keep_silence,
                    "of a source that was woven with --keep-silence");
  command->add_flag("--no-audio", options->no_audio, "a smaller report, without players");
  command->add_option("--sound", options->sound, "a sound sketch to write, .wav or .flac");
  command->add_option("--image", options->image, "a picture to write, .png or .svg");
  command->add_option("--loudness", options->level.loudness_lufs, "of the sound, LUFS (ITU-R BS.1770)")
      ->capture_default_str();
  command->add_option("--wire", options->capture.wire, "which wire of a VCD capture");
  command->add_flag("--invert", options->capture.invert, "the gate of a capture is active low");
  add_force(*command, options->force);
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer("Example:\n  burstloom preview song.burst --out report.html --source song.flac");
  command->callback([options, &answer] { preview(*options, answer); });
}

}  // namespace burstloom::command
