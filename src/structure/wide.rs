//! Wide registers, where the processor has them.

/// A function that runs another one, which must be `#[inline(always)]`, in the widest registers there are.
///
/// Neither order nor rounding of any operation changes with the registers, so the results are the same to the bit.
macro_rules! wide {
    ($(#[$about:meta])* $sight:vis fn $name:ident<$life:lifetime>($($argument:ident: $kind:ty),* $(,)?) -> $out:ty =
        $inner:path;) => {
        $(#[$about])*
        $sight fn $name<$life>($($argument: $kind),*) -> $out {
            struct Work<$life>($($kind),*);
            impl<$life> pulp::WithSimd for Work<$life> {
                type Output = $out;

                #[inline(always)]
                fn with_simd<S: pulp::Simd>(self, _: S) -> $out {
                    let Self($($argument),*) = self;
                    $inner($($argument),*)
                }
            }
            pulp::Arch::new().dispatch(Work($($argument),*))
        }
    };
}

pub(super) use wide;
