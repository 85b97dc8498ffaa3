# A helical compression spring of round wire, ground ends: one design in on stdin, its measures out on stdout.
# Formulas: EN 13906-1 (from memory). G and density of patented steel wire.

function given(name) {
    # `"name":1.5` in the question; numbers come in the units of the study.
    if (!match($0, "\"" name "\":[-+.0-9eE]+")) { failed("the question has no " name) }
    return substr($0, RSTART + length(name) + 3, RLENGTH - length(name) - 3) + 0
}

function failed(why) {
    printf "{\"failed\":\"%s\"}\n", why
    exit
}

{
    pi = 3.141592653589793
    shear = 81500                       # MPa
    density = 7.85e-3                   # g/mm^3
    fitted = 30; pressed = 18           # lengths in service, mm

    wire = given("wire"); coil = given("coil"); turns = given("turns"); free = given("free")
    w = coil / wire
    if (w < 3) { failed("a spring index below 3 can't be coiled") }

    rate = shear * wire ^ 4 / (8 * coil ^ 3 * turns)
    solid = (turns + 2) * wire
    preload = rate * (free - fitted)
    force = rate * (free - pressed)
    curved = (w + 0.5) / (w - 0.75)     # Bergstraesser
    stress = curved * 8 * force * coil / (pi * wire ^ 3)
    mass = density * pi * wire ^ 2 / 4 * pi * coil * (turns + 2)
    frequency = wire / (2 * pi * turns * coil ^ 2) * sqrt(shear / (2 * density * 1e-6))

    printf "{\"measures\":{\"mass\":%.17g,\"preload\":%.17g,\"force\":%.17g,", mass, preload, force
    printf "\"stress\":%.17g,\"play\":%.17g,\"frequency\":%.17g}}\n", stress, pressed - solid, frequency
}
