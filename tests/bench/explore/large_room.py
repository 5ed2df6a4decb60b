#!/usr/bin/env python3
"""A room of 60 props on 8 controllers, made by a seed; and the same with a mistake in it that is known.

    large_room.py SEED [--mistake] [--count]

Writes the room to standard output. On each controller stand a scale, a lid, a bell to be rung in a rhythm, two props that
read each other, one that gathers what three others have reached, and one that follows a gatherer elsewhere over the
link; on three a show besides; on the first the vault that finishes the room. Weights, times, codes, who waits for
whom and what follows what are drawn. With `--mistake` one of the kinds in MISTAKES is made at a place that is drawn,
and the first line says which promise it breaks: `# breaks "..."`. `--count` says instead how many states the props
have together, each prop's own product with its counters and places left out.
"""
import random
import sys

CONTROLLERS = 8

BOARD = """board bench16 {
  inputs I1 to I16, outputs K1 to K16 up to 2 A, scales S1 to S2, voices A1, links L1
  total up to 20 A, table 32 KiB, memory 8 KiB, scan 10 ms, sounds "wav"
}
"""


class Room:
    def __init__(self, seed):
        self.seed, self.dice = seed, random.Random(seed)
        self.text, self.chain, self.promises = [], [], []
        self.states = 1
        d = self.dice
        # Whom the props of a controller wait for: a tree whose first two controllers wait for nobody.
        self.parent = {k: (k - 2) // 2 if d.random() < 0.7 else d.randrange(0, k - 1) for k in range(2, CONTROLLERS)}
        self.follows = {k: d.choice([n for n in range(CONTROLLERS) if n != k]) for k in range(CONTROLLERS)}
        self.shows = sorted(d.sample(range(1, CONTROLLERS), 3))
        self.mistake = None
        # No set of the things weighs what another thing does, nor nearly.
        while True:
            self.grams = [d.randrange(300, 1900, 10) for _ in range(CONTROLLERS)]
            sums = sorted(sum(g for n, g in enumerate(self.grams) if s >> n & 1) for s in range(1 << CONTROLLERS))
            if all(sum(abs(one - g) < 20 for one in sums) == 1 for g in self.grams):
                break

    def has(self, kind, k):
        return self.mistake == (kind, k)

    def prop(self, states, text):
        self.states *= states
        self.text.append(text)

    def scale(self, k):
        d = self.dice
        grams = self.grams[k]
        self.prop(5, f"""
thing ingot{k} {grams} g ± 1 g {{ home "shelf {k}" }}
scale pan{k} at c{k}.S1 {{ capacity 3 kg, division 1 g, empty below 5 g, settle 400 ms }}
lamp amber{k} at c{k}.K1 {{ draws 100 mA }}
lamp green{k} at c{k}.K2 {{ draws 100 mA }}
prop cargo{k} on c{k} {{
  window fair on pan{k}: ingot{k} ± {d.randrange(3, 9)} g
  window light on pan{k}: between empty and fair
  window heavy on pan{k}: above fair
  ready when pan{k} empty "Pan {k} empty"
  state bare start {{
    when light for {d.choice([800, 1000, 1500])} ms -> short
    when heavy for 1 s -> burdened
    when fair for {d.choice([500, 700, 900])} ms -> weighed
  }}
  state short {{ keep amber{k} on, when fair for 500 ms -> weighed, after {d.randrange(3, 9)} s -> bare }}
  state burdened {{ keep amber{k} blinking every 400 ms, when pan{k} empty or pan{k} lost -> bare }}
  state weighed {{ when fair for {d.randrange(1, 4)} s -> kept, when (light or heavy or pan{k} empty) for 1 s -> bare }}
  state kept goal {{ keep green{k} on }}
}}
""")

    def lid(self, k):
        d = self.dice
        # A contact held for as long as it takes; what went up comes down again by itself.
        self.prop(4, f"""
contact hatch{k} at c{k}.I1 {{ closed means shut, open means lifted }}
prop lid{k} on c{k} {{
  ready when hatch{k} shut "Hatch {k} shut"
  state barred start {{ when hatch{k} lifted -> holding }}
  state holding {{ when hatch{k} shut or hatch{k} lost -> barred, after {d.randrange(2, 6)} s -> raised }}
  state raised goal {{ keep amber{k} on, after {d.randrange(4, 12)} s -> lowered }}
  state lowered {{ when hatch{k} lifted for 1 s -> raised }}
}}
""")

    def code(self, k):
        d = self.dice
        low, high = d.choice([(200, 800), (300, 900), (250, 1000)])
        pulls = ", ".join([f"bell{k}"] * d.randrange(2, 4)).replace(", ", f", {low} ms to {high} ms, ")
        red = f"keep red{k} on" if not self.has("no warning", k) else f"keep red{k} on while hatch{k} lifted"
        self.prop(5, f"""
button bell{k} at c{k}.I2
lamp red{k} at c{k}.K3 {{ draws 100 mA }}
clip buzz{k} "sounds/thud.wav"
prop code{k} on c{k} {{
  sequence order: {pulls}
  counter misses: 0 to 3
  state idle start {{
    when order wrong {{ add 1 to misses, play buzz{k} on voice{k} }}
    when misses is 3 -> barred
    when order done -> keyed
  }}
  state barred {{ {red}, after {d.randrange(5, 20)} s {{ set misses to 0 }} -> idle }}
  state keyed {{ keep green{k} blinking every 500 ms, after 1 s -> turned }}
  state turned {{ after 500 ms -> opened }}
  state opened goal {{ }}
}}
""")
        self.promises.append((f"the bar of {k} is seen", f"code{k} barred then red{k} on within 50 ms", "no warning", k))

    def pair(self, k):
        d = self.dice
        up = d.randrange(2, 5)
        # The one is done only where the other was crossed for a while, and then is done with it.
        done = f"when right{k} crossed for 1 s" if not self.has("alone", k) else "after 1500 ms"
        self.prop(4, f"""
button lever{k} at c{k}.I5
button crank{k} at c{k}.I6
lamp cross{k} at c{k}.K4 {{ draws 100 mA }}
prop left{k} on c{k} {{
  state rest start {{ when lever{k} held -> up }}
  state up {{ when right{k} up -> crossed, after {up} s -> rest }}
  state crossed {{ keep cross{k} on, after 2 s -> rest, {done} -> done }}
  state done goal {{ }}
}}
""")
        self.prop(4, f"""
prop right{k} on c{k} {{
  state rest start {{ when crank{k} held -> up }}
  state up {{ when left{k} crossed -> crossed, after {up + 4} s -> rest }}
  state crossed {{ after 3 s -> rest, when left{k} done -> done }}
  state done goal {{ }}
}}
""")
        self.promises.append((f"the cross of {k} takes two", f"never left{k} done and right{k} rest", "alone", k))

    def gatherer(self, k):
        d = self.dice
        drawer = f"keep drawer{k} released for {d.randrange(5, 15)} s"
        early = f" {{ {drawer} }}" if self.has("drawer early", k) else ""
        stuck = self.has("no way back", k)
        self.prop(6, f"""
lock drawer{k} at c{k}.K5 {{ draws 450 mA, fail-secure, longest 20 s }}
voice voice{k} at c{k}.A1
clip word{k} "sounds/ring.wav"
prop crew{k} on c{k} {{
  state scattered start {{
    when any 2 of (cargo{k} solved, lid{k} solved, code{k} solved) -> half
  }}
  state half {{
    when hatch{k} lifted for 500 ms{early} -> calling
    after {d.randrange(20, 60)} s -> tired
  }}
  state tired {{ {"" if stuck else f"when hatch{k} lifted -> half"} }}
  state calling {{
    enter {{ play word{k} on voice{k} }}
    after {d.randrange(1, 4)} s -> near
  }}
  state near {{ keep green{k} on, when cargo{k} solved and lid{k} solved and code{k} solved -> whole }}
  state whole goal {{ enter {{ {drawer} }} }}
}}
""")
        self.promises.append((f"the drawer of {k} waits", f"never drawer{k} released and not crew{k} solved",
                              "drawer early", k))
        self.promises.append((f"the crew of {k} can gather", f"can always reach crew{k} solved", "no way back", k))

    def follower(self, k):
        d = self.dice
        of = self.follows[k]
        late = "for 5 s " if self.has("late beacon", k) else ""
        told = "vault solved" if not self.has("flare late", k) else f"vault solved and lid{k} raised"
        self.prop(4, f"""
lamp beacon{k} at c{k}.K6 {{ draws 300 mA }}
lamp flare{k} at c{k}.K10 {{ draws 200 mA }}
prop watch{k} on c{k} {{
  in every state {{ keep flare{k} on while {told} }}
  state dark start {{ when crew{of} solved {late}-> seen }}
  state seen {{ keep beacon{k} on, after {d.randrange(3, 8)} s -> steady }}
  state steady {{ keep beacon{k} on, after {d.randrange(10, 30)} s -> fading }}
  state fading {{ keep beacon{k} on, when lid{k} solved -> steady }}
}}
""")
        self.promises.append((f"the beacon of {k} answers", f"crew{of} whole then beacon{k} on within 500 ms",
                              "late beacon", k))
        if k != 0:
            self.promises.append((f"the flare of {k} tells of the vault", f"vault open then flare{k} on within 300 ms",
                                  "flare late", k))

    def show(self, k):
        d = self.dice
        self.prop(4, f"""
lamp sky{k} at c{k}.K7 {{ draws 400 mA, rest on }}
prop show{k} on c{k} {{
  timer arc: {d.randrange(20, 90)} s
  state day start {{ enter {{ start arc }}, when arc done -> dusk }}
  state dusk {{ keep sky{k} at 40 %, after {d.randrange(5, 20)} s -> night, when crew{k} solved -> dawn }}
  state night {{ keep sky{k} off, enter {{ start arc }}, when arc past 10 s -> dusk }}
  state dawn {{ keep sky{k} blinking every 2 s }}
}}
""")

    def vault(self):
        d = self.dice
        last = [k for k in range(CONTROLLERS) if k not in self.parent.values()]
        all_of = " and ".join(f"crew{k} solved" for k in last)
        # The chain before it takes six seconds at least and twenty at most.
        turning = 2 if self.has("too quick", 0) else d.randrange(27, 31)
        self.prop(5, f"""
contact wheel at c0.I7 {{ closed means still, open means turned }}
lock bolt at c0.K8 {{ draws 450 mA, fail-secure, longest 30 s }}
prop vault on c0 {{
  state shut start {{ when {all_of} -> willing }}
  state willing {{ when wheel turned -> turning }}
  state turning {{ after {turning} s -> loose }}
  state loose {{ when wheel still for 4 s -> open }}
  state open goal {{ enter {{ keep bolt released for 10 s }} }}
}}
""")
        self.promises.append(("the bolt waits", "never bolt released and not vault solved",
                              None, 0))
        self.promises.append(("nobody does it in half a minute", "finish not before 35 s", "too quick", 0))
        self.promises.append(("the room can be finished", "can always reach finish", None, 0))
        self.promises.append(("the door lets go", "session ended then gate released within 1 s", None, 0))

    def write(self):
        out = ["language 1\n"]
        out.append('room "The Sixty" { session 90 min, starts by operator, finish vault }\n')
        out.append(BOARD)
        for k in range(CONTROLLERS):
            out.append(f"controller c{k} is bench16 {{ supply 12 V up to 10 A }}\n")
        joins = ", ".join(f"c{k}" for k in range(CONTROLLERS))
        out.append(f"link ring joins {joins} {{ delay up to 100 ms, lost after 2 s }}\n")
        out.append(f"lock gate at c{CONTROLLERS - 1}.K9 {{ draws 500 mA, fail-safe, exit, rest released }}\n")
        for k in range(CONTROLLERS):
            self.scale(k), self.lid(k), self.code(k), self.pair(k), self.gatherer(k), self.follower(k)
            if k in self.shows:
                self.show(k)
            if k in self.parent:
                of = self.parent[k]
                self.chain += [f"  crew{of} -> cargo{k}\n", f"  crew{of} -> code{k}\n"]
        self.vault()
        # The way out is held by a show's controller while the game runs; a prop would be the 61st.
        k = CONTROLLERS - 1
        held = "  in every state { keep gate secured while session running and not c0 lost }\n"
        for n, text in enumerate(self.text):
            at = text.find(f"prop watch{k} on c{k} {{\n")
            if at >= 0:
                at += len(f"prop watch{k} on c{k} {{\n")
                self.text[n] = text[:at] + held + text[at:]
        out += self.text
        out.append("\nchain {\n" + "".join(self.chain) + "}\n\n")
        out += [f'promise "{title}": {claim}\n' for title, claim, _, _ in self.chosen()]
        return "".join(out)

    def make_mistake(self):
        dice = random.Random(self.seed * 7919 + 1)
        kind = dice.choice(MISTAKES)
        first = 1 if kind == "flare late" else 0
        self.mistake = (kind, 0 if kind == "too quick" else dice.randrange(first, CONTROLLERS))

    def broken_title(self):
        return next(p[0] for p in self.promises if p[2] == self.mistake[0] and p[3] == self.mistake[1])

    def chosen(self):
        """Of each kind some: those of the vault, and of two controllers each; with a mistake, its own too."""
        chosen = []
        d = random.Random(len(self.text) + sum(self.follows.values()))
        for kind in dict.fromkeys(kind for _, _, kind, _ in self.promises):
            of_kind = [p for p in self.promises if p[2] == kind]
            few = of_kind if kind is None else d.sample(of_kind, min(2, len(of_kind)))
            own = [p for p in of_kind if self.mistake == (kind, p[3])]
            chosen += few + [p for p in own if p not in few]
        return chosen


MISTAKES = ["no warning", "alone", "drawer early", "no way back", "late beacon", "flare late", "too quick"]


def main():
    words = [w for w in sys.argv[1:] if not w.startswith("-")]
    if len(words) != 1:
        sys.exit(__doc__)
    seed = int(words[0])
    room = Room(seed)
    if "--mistake" in sys.argv:
        room.make_mistake()
    text = room.write()
    if "--count" in sys.argv:
        print(room.states)
        return
    if room.mistake:
        print(f'# breaks "{room.broken_title()}"')
    sys.stdout.write(text)


if __name__ == "__main__":
    main()
