#include "burstloom/coil/current_table.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/preview/loudness.hpp"
#include "burstloom/preview/picture.hpp"
#include "burstloom/preview/sound_sketch.hpp"
#include "burstloom/preview/timeline.hpp"
#include "command_line.hpp"

namespace burstloom::command {
namespace {

struct PreviewOptions {
  std::string input, coil, sound, image;
  CaptureOptions capture;
  LevelOptions level;
  bool json = false;
};

// Energies by the coil's model where it has one, else by on-time alone.
BurstEnergy energy_of(const JudgedInput& input) {
  const BurstStream& stream = input.source.file.stream;
  const auto current = current_table(input.profile);
  if (!current->has_model()) return energy_from_on_time(stream.tick_hz);
  std::vector<double> joules;
  joules.reserve(stream.bursts.size());
  for (const Burst& burst : stream.bursts)
    joules.push_back(current->figures(stream.microseconds(burst.on)).energy_j);
  return energy_by_index(std::move(joules));
}

void draw(const PreviewOptions& options, const JudgedInput& input, const Judgement& judgement,
          SoundSketch& sketch, double gain) {
  const BurstStream& stream = input.source.file.stream;
  PictureContent content{input.source.file.title, judgement, {}, {}};
  content.timeline =
      make_timeline(stream, input.profile, judgement, {.until = stream.length, .columns = 1200});
  content.spectrograms.push_back({"sound sketch", spectrogram(sketch, gain)});
  write_picture(content, options.image);
}

void preview(const PreviewOptions& options, Answer& answer) {
  if (options.sound.empty() && options.image.empty())
    throw Error(Fault::usage, "nothing to make", "command line",
                "give --sound FILE.wav, --image FILE.png or both");
  const JudgedInput input = read_judged_input(options.input, options.coil, options.capture);
  const Judgement judgement = judge_input(input, std::nullopt);
  SoundSketch sketch(input.source.file.stream, energy_of(input));
  const SketchLevel level = options.sound.empty() ? level_for(sketch, options.level)
                                                  : write_sketch(sketch, options.level, options.sound);
  sketch.rewind();
  if (!options.image.empty()) draw(options, input, judgement, sketch, level.gain);
  answer.exit_code = judgement.verdict == Verdict::within_limits ? 0 : 1;
  if (options.json) {
    Json json = command::to_json(judgement, input.source.file.stream);
    json["sound"] = {{"loudness_lufs", level.loudness_lufs ? Json(*level.loudness_lufs) : Json()},
                     {"true_peak_dbtp", level.true_peak_dbtp ? Json(*level.true_peak_dbtp) : Json()}};
    return print_json(json);
  }
  print(one_line(judgement) + "\n");
  if (level.loudness_lufs)
    print("  sound sketch: " + figure(*level.loudness_lufs) + " LUFS" +
          (level.held_by_peak ? ", held down by its peaks" : "") + "\n");
  for (const std::string& path : {options.sound, options.image})
    if (!path.empty()) print("written: " + path + "\n");
}

}  // namespace

void add_preview(CLI::App& app, Answer& answer) {
  auto* command = app.add_subcommand(
      "preview", "What a stream might sound like, and how it lies against its limits: sound and picture");
  const auto options = std::make_shared<PreviewOptions>();
  command->add_option("STREAM", options->input, "the stream or capture")->required();
  command->add_option("--coil", options->coil, "the coil's profile; a .burst file carries its own");
  command->add_option("--sound", options->sound, "a sound sketch to write, .wav or .flac");
  command->add_option("--image", options->image, "a picture to write, .png or .svg");
  command->add_option("--loudness", options->level.loudness_lufs, "of the sound, LUFS (ITU-R BS.1770)")
      ->capture_default_str();
  command->add_option("--wire", options->capture.wire, "which wire of a VCD capture");
  command->add_flag("--invert", options->capture.invert, "the gate of a capture is active low");
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer("Example:\n  burstloom preview song.burst --sound sketch.wav --image song.png");
  command->callback([options, &answer] { preview(*options, answer); });
}

}  // namespace burstloom::command
