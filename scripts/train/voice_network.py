#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Fits the network that tells voices from other sounds, on scenes that are made as it goes.

    scripts/train/voice_network.py scenes PACK FOLDER --scenes 20000     labelled bands of so many scenes
    scripts/train/voice_network.py fit FOLDER --epochs 12 -o voice.npz   weights
    scripts/train/voice_network.py check FOLDER voice.npz                frames of another side's scenes
    scripts/train/voice_network.py export voice.npz data/models/voice.json

PACK is what scripts/hearing/pack_sounds.py wrote of one side. Seeds are fixed. It runs on whatever PyTorch
finds: an accelerator takes minutes, two cores a night.
"""
import argparse
import hashlib
import json
import multiprocessing
import os
import pathlib
import sys

os.environ.setdefault("OMP_NUM_THREADS", "1")
import model_file  # noqa: E402
import numpy as np  # noqa: E402

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "scripts/hearing"))
import log_bands  # noqa: E402

FRAMES = 1500  # of a scene: 24 s
CHANNELS = 8  # at most
CLASSES = 5
SCENES_A_FILE = 64


def labelled(seed):
    """Bands [channels, frames, BANDS] as bytes, labels and what counts [classes, frames], kinds."""
    import training
    samples, labels, counts, seismic = training.render_training(seed, labelled.library, labelled.side)
    bands = np.stack([log_bands.log_bands(row)[:FRAMES] for row in samples])
    return np.rint(bands * 24).astype(np.int8), labels[:, :FRAMES], counts[:, :FRAMES], seismic


def make_file(given):
    path, seeds = given
    made = [labelled(seed) for seed in seeds]
    part = path.with_suffix(".part.npz")
    np.savez(part, bands=np.concatenate([one[0] for one in made]), labels=np.stack([one[1] for one in made]),
             counts=np.stack([one[2] for one in made]), seismic=np.concatenate([one[3] for one in made]),
             channels=[len(one[0]) for one in made])
    part.rename(path)


def begin(pack):
    import clips
    packed = clips.Packed(pack)
    labelled.side = packed.side
    labelled.library = clips.Library(packed.side, packed)


def make_scenes(pack, folder, count, jobs):
    folder.mkdir(parents=True, exist_ok=True)
    work = [(folder / f"{first:06d}.npz", range(first, min(first + SCENES_A_FILE, count)))
            for first in range(0, count, SCENES_A_FILE)]
    begin(pack)
    with multiprocessing.get_context("fork").Pool(jobs) as pool:
        for k, _ in enumerate(pool.imap_unordered(make_file, work)):
            if k % 20 == 0:
                print(f"{k} of {len(work)} files", file=sys.stderr, flush=True)


def load(folder, device):
    """Everything on the device; a scene's channels lie one after another, padded with none."""
    import torch
    parts = {name: [] for name in ("bands", "labels", "counts", "seismic", "channels")}
    for path in sorted(folder.glob("??????.npz")):
        with np.load(path) as file:
            for name, values in parts.items():
                values.append(file[name])
    whole = {name: torch.from_numpy(np.concatenate(values)) for name, values in parts.items()}
    whole["first"] = torch.cumsum(whole["channels"], 0) - whole["channels"]
    return {name: values.to(device) for name, values in whole.items()}


def network():
    import torch
    from torch import nn

    class Block(nn.Module):
        def __init__(self, width, dilation):
            super().__init__()
            self.conv = nn.Conv1d(width, width, 3, padding=dilation, dilation=dilation)
            self.norm = nn.BatchNorm1d(width)

        def forward(self, x):
            return x + torch.relu(self.norm(self.conv(x)))

    class Network(nn.Module):
        """Channels by themselves, then what their mean and largest tell of the array."""

        def __init__(self, width=40, blocks=7):
            super().__init__()
            self.enter = nn.Sequential(nn.Conv1d(log_bands.BANDS + 1, width, 1), nn.BatchNorm1d(width),
                                       nn.ReLU())
            self.own = nn.Sequential(*[Block(width, 2 ** k) for k in range(blocks)])
            self.own_head = nn.Conv1d(width, CLASSES, 1)
            self.meet = nn.Sequential(nn.Conv1d(2 * width, width, 1), nn.BatchNorm1d(width), nn.ReLU())
            self.all = nn.Sequential(*[Block(width, 2 ** k) for k in range(blocks)])
            self.all_head = nn.Conv1d(width, CLASSES, 1)

        def forward(self, x, there):
            """x [scenes, channels, rows, frames], there [scenes, channels]: logits of each channel and all."""
            scenes, channels = there.shape
            flat = there.flatten()
            own = x.new_zeros(0)
            own = self.own(self.enter(x.flatten(0, 1)[flat]))
            alone = self.own_head(own)
            spread = own.new_zeros((scenes * channels, *own.shape[1:]))
            spread[flat] = own
            spread = spread.unflatten(0, (scenes, channels))
            mask = there[:, :, None, None]
            mean = spread.sum(1) / mask.sum(1)
            largest = spread.masked_fill(~mask, -1e4).amax(1)
            return alone, self.all_head(self.all(self.meet(torch.cat([mean, largest], 1))))

    return Network()


def batch_of(data, scenes, rng, device):
    """Bands with the kind as a last row, and which channels are there; channels dropped in half of them."""
    import torch
    most = int(data["channels"][scenes].max())
    index = data["first"][scenes][:, None] + torch.arange(most, device=device)[None]
    there = torch.arange(most, device=device)[None] < data["channels"][scenes][:, None]
    index = torch.where(there, index, data["first"][scenes][:, None])
    x = data["bands"][index].transpose(2, 3).to(torch.float32) / 24
    kind = torch.where(data["seismic"][index], 1.0, -1.0)
    if rng is not None:
        kept = torch.from_numpy(rng.random((len(scenes), most)) < rng.choice([0.3, 0.6, 1.0], (len(scenes), 1)))
        kept = kept.to(device) & there
        there = torch.where(kept.any(1, keepdim=True), kept, there)
        kind = kind * torch.from_numpy(rng.random((len(scenes), most)) < 0.85).to(device)  # or not known
        narrow = torch.from_numpy(rng.random(len(scenes)) < 0.08).to(device)  # recorded at 4 kHz
        top = np.concatenate([np.zeros(22), np.tile(log_bands.SHORT_EDGES[1:] > 29, 2)]).astype(bool)
        x = torch.where(narrow[:, None, None, None] & torch.from_numpy(top).to(device)[None, None, :, None],
                        torch.zeros((), device=device), x)
    frames = x.shape[-1]
    return torch.cat([x, kind[..., None, None].expand(-1, -1, 1, frames).to(x.dtype)], 2), there


def fit(folder, epochs, path, begin=None, peak=4e-3, batch=32):
    import torch
    torch.manual_seed(1)
    rng = np.random.default_rng(1)
    device = "cuda" if torch.cuda.is_available() else "cpu"
    data = load(folder, device)
    count = len(data["channels"])
    net = network().to(device)
    if begin:
        with np.load(begin) as file:
            net.load_state_dict({name: torch.from_numpy(file[name]) for name in file.files})
    print(sum(p.numel() for p in net.parameters()), "weights,", count, "scenes", file=sys.stderr)
    steps = epochs * (count // batch)
    optimiser = torch.optim.AdamW(net.parameters(), lr=peak, weight_decay=1e-3)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, peak, total_steps=steps + 1, pct_start=0.05)
    weight = torch.tensor([1.0, 0.3, 0.5, 0.3, 0.3], device=device)[None, :, None]
    edge = torch.ones(FRAMES, device=device)
    edge[:31] = edge[-31:] = 0
    step, running = 0, 0.0
    while step < steps:
        order = rng.permutation(count)
        for k in range(count // batch):
            scenes = torch.from_numpy(order[k * batch:(k + 1) * batch]).to(device)
            x, there = batch_of(data, scenes, rng, device)
            labels = data["labels"][scenes].to(torch.float32)
            counts = data["counts"][scenes].to(torch.float32) * edge * weight
            with torch.autocast(device, dtype=torch.bfloat16, enabled=device == "cuda"):
                alone, every = net(x, there)
            loss = torch.nn.functional.binary_cross_entropy_with_logits
            owner = torch.nonzero(there)[:, 0]
            total = (loss(every.float(), labels, counts, reduction="sum") / counts.sum()
                     + 0.4 * loss(alone.float(), labels[owner], counts[owner], reduction="sum")
                     / counts[owner].sum())
            optimiser.zero_grad(set_to_none=True)
            total.backward()
            torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
            optimiser.step()
            schedule.step()
            step += 1
            running = 0.99 * running + 0.01 * float(total.detach()) if step % 20 == 0 else running
            if step % 500 == 0:
                print(f"step {step} of {steps}: {float(total.detach()):.4f}", file=sys.stderr, flush=True)
    net.eval()
    np.savez(path, **{name: values.cpu().numpy() for name, values in net.state_dict().items()})


def check(folder, path):
    """Of another side: voices found at a share of other frames marked."""
    import torch
    device = "cuda" if torch.cuda.is_available() else "cpu"
    data = load(folder, device)
    net = network().to(device)
    with np.load(path) as file:
        net.load_state_dict({name: torch.from_numpy(file[name]) for name in file.files})
    net.eval()
    scores, alone_scores = [], []
    with torch.no_grad():
        for first in range(0, len(data["channels"]), 32):
            scenes = torch.arange(first, min(first + 32, len(data["channels"])), device=device)
            x, there = batch_of(data, scenes, None, device)
            alone, every = net(x, there)
            best = every.new_full((*there.shape, *every.shape[1:]), -30.0)
            best[there] = alone
            scores.append((0.5 * (every + best.amax(1))).cpu())
            alone_scores.append(every.cpu())
    labels, counts = data["labels"].cpu(), data["counts"].cpu()
    for name, found in (("with the best channel", torch.cat(scores)), ("array alone", torch.cat(alone_scores))):
        for row, what in enumerate(["voice", "knock", "horn", "engine", "other"]):
            no = found[:, row][(labels[:, row] == 0) & counts[:, row]]
            yes = found[:, row][(labels[:, row] == 1) & counts[:, row]]
            line = []
            for share in (0.01, 0.003, 0.001):
                limit = torch.sort(no).values[int((1 - share) * len(no))]
                line.append(f"{float((yes > limit).float().mean()):.3f} at {share}")
            print(name, what, len(yes), "frames:", ", ".join(line))


def layers_of(state):
    """Weights in the order that lib/detect/internal/voice_network.cpp takes them: of each layer [tap][in][out]
    with its normalisation folded in, then what is added."""

    def folded(conv, norm=None):
        weight, bias = state[conv + ".weight"].astype(float), state[conv + ".bias"].astype(float)
        if norm:
            scale = state[norm + ".weight"] / np.sqrt(state[norm + ".running_var"] + 1e-5)
            weight = weight * scale[:, None, None]
            bias = (bias - state[norm + ".running_mean"]) * scale + state[norm + ".bias"]
        return [weight.transpose(2, 1, 0).ravel(), bias]

    blocks = sum(name.endswith(".conv.weight") and name.startswith("own.") for name in state)
    parts = folded("enter.0", "enter.1")
    for k in range(blocks):
        parts += folded(f"own.{k}.conv", f"own.{k}.norm")
    parts += folded("own_head") + folded("meet.0", "meet.1")
    for k in range(blocks):
        parts += folded(f"all.{k}.conv", f"all.{k}.norm")
    return np.concatenate(parts + folded("all_head")).astype("<f4")


def export(path, model):
    """Writes model.f32, and into model.json its digest and the sounds behind it."""
    with np.load(path) as file:
        weights = layers_of(dict(file)).tobytes()
    model.with_suffix(".f32").write_bytes(weights)
    model_file.write(model, weights_sha256=hashlib.sha256(weights).hexdigest())


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    verbs = parser.add_subparsers(dest="verb", required=True)
    made = verbs.add_parser("scenes")
    made.add_argument("pack")
    made.add_argument("folder", type=pathlib.Path)
    made.add_argument("--scenes", type=int, default=20000)
    made.add_argument("--jobs", type=int, default=multiprocessing.cpu_count())
    fitted = verbs.add_parser("fit")
    fitted.add_argument("folder", type=pathlib.Path)
    fitted.add_argument("--epochs", type=int, default=12)
    fitted.add_argument("--begin", help="with these weights; else drawn")
    fitted.add_argument("--peak", type=float, default=4e-3, help="learning rate")
    fitted.add_argument("-o", dest="path", required=True)
    checked = verbs.add_parser("check")
    checked.add_argument("folder", type=pathlib.Path)
    checked.add_argument("path")
    exported = verbs.add_parser("export")
    exported.add_argument("path")
    exported.add_argument("model", type=pathlib.Path)
    given = parser.parse_args()
    if given.verb == "scenes":
        make_scenes(given.pack, given.folder, given.scenes, given.jobs)
    elif given.verb == "fit":
        fit(given.folder, given.epochs, given.path, given.begin, given.peak)
    elif given.verb == "check":
        check(given.folder, given.path)
    else:
        export(given.path, given.model)


if __name__ == "__main__":
    main()
